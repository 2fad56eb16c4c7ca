//! Prints the validation report: `cargo run --release -p barrico-model --example validation > daemon/docs/validation.md`.

#[path = "../tests/validation/mod.rs"]
mod validation;

#[expect(clippy::print_stdout, reason = "printing is what it does")]
fn main() -> std::process::ExitCode {
    if validation::open_data::points("steady_new_membrane").is_none() {
        eprintln!("the report is made with the open data: set BARRICO_DATA");
        return std::process::ExitCode::FAILURE;
    }
    print!("{}", validation::document::document());
    std::process::ExitCode::SUCCESS
}
