//! Builds the tests of `more.rs` where `MORE` is set: a changed copy is built sooner without them.

fn main() {
    println!("cargo:rerun-if-env-changed=MORE");
    println!("cargo:rustc-check-cfg=cfg(more)");
    if std::env::var_os("MORE").is_some() {
        println!("cargo:rustc-cfg=more");
    }
}
