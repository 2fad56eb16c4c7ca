//! The `barrico` program.

fn main() -> std::process::ExitCode {
    barrico::cli::main()
}
