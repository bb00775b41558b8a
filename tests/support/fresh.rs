//! Files that are generated, committed and proved fresh.

use std::fs;
use std::path::{Path, PathBuf};

/// A path below the root of the repository.
pub(crate) fn root(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

/// Holds a committed file to what it is generated from; `UPDATE=1` writes it anew.
pub(crate) fn fresh(path: &Path, text: &str) {
    if std::env::var_os("UPDATE").is_some() {
        fs::write(path, text).unwrap();
    }
    let committed = fs::read_to_string(path).unwrap_or_default();
    assert!(
        committed == text,
        "{} is not fresh; the same test with UPDATE=1 writes it anew",
        path.display()
    );
}
