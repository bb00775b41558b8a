//! The command `fingerpost`.

fn main() -> std::process::ExitCode {
    fingerpost_cli::main()
}
