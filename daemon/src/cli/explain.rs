//! The command `explain`: what a finding means, why it is raised, what to do and what not.
//!
//! Everything comes from the list of findings; `daemon/docs/findings.md` is printed from the same list, and a test holds the two together.

use super::print::{list, paragraph, print};
use crate::publish::words;
use crate::settings::nearest::nearest;
use barrico_model::findings::{Registration, registry};
use std::process::ExitCode;

/// Options of the command.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// Name of the finding, such as `output-low`; without a name all are listed
    #[arg(value_name = "CODE")]
    code: Option<String>,
    /// All findings as one document in Markdown
    #[arg(long, conflicts_with = "code")]
    document: bool,
}

/// Runs it.
pub fn main(arguments: &Arguments) -> anyhow::Result<ExitCode> {
    let text = match &arguments.code {
        _ if arguments.document => document(),
        None => all(),
        Some(code) => match registry::by_name(&code.to_lowercase().replace('_', "-")) {
            Some(finding) => one(finding),
            None => anyhow::bail!("{}", unknown(code)),
        },
    };
    print(&text)?;
    Ok(ExitCode::SUCCESS)
}

fn unknown(code: &str) -> String {
    let names = || registry::ALL.iter().map(|finding| finding.name);
    let help = match nearest(code, names()) {
        Some(near) => format!("did you mean `{near}`?"),
        None => format!("the findings are: {}", names().collect::<Vec<_>>().join(", ")),
    };
    format!("there is no finding `{code}`; {help}")
}

fn all() -> String {
    let mut text = String::from("Findings. Each is explained with `barrico explain NAME`.\n\n");
    let longest = registry::ALL.iter().map(|finding| finding.name.len()).max().unwrap_or(0);
    for finding in registry::ALL {
        let name = format!("  {:longest$}  ", finding.name);
        text.push_str(&paragraph(&name, finding.title));
    }
    text
}

/// The texts of one finding under their headings, in the order in which a person needs them.
fn sections(finding: &Registration) -> Vec<(&'static str, Vec<String>)> {
    let one = |text: &str| vec![words::with_stop(text)];
    let many = |texts: &[&str]| texts.iter().map(|text| words::with_stop(text)).collect();
    let needs: Vec<&str> = finding.needs.iter().map(|quantity| quantity.label()).collect();
    let needs = if needs.is_empty() { "no reading in particular".to_string() } else { needs.join(", ") };
    vec![
        ("What it means", one(finding.meaning)),
        ("What to do", finding.act.iter().map(|act| words::with_stop(act.text)).collect()),
        ("What not to do", many(finding.act_not)),
        ("Caution", one(finding.caution)),
        ("What else can look like it", one(finding.other_explanations)),
        ("Raised when", one(finding.condition)),
        ("Must hold first", one(finding.hold)),
        ("Clears", one(finding.clears)),
        ("Judged best with", one(&needs)),
        ("Where the limits come from", many(finding.sources)),
    ]
}

fn one(finding: &Registration) -> String {
    let mut text = format!("{}\n{}\n", finding.title, "=".repeat(finding.title.chars().count()));
    text.push_str(&format!("{}\n", finding.name));
    for (heading, texts) in sections(finding) {
        text.push_str(&format!("\n{heading}\n"));
        match texts.as_slice() {
            [only] => text.push_str(&paragraph("  ", &words::sentence(only))),
            many => {
                let many: Vec<String> = many.iter().map(|text| words::sentence(text)).collect();
                text.push_str(&list(&many.iter().map(String::as_str).collect::<Vec<_>>()));
            }
        }
    }
    text
}

/// All findings as Markdown: `daemon/docs/findings.md`.
fn document() -> String {
    let mut text = String::from(
        "# Findings\n\n\
         Printed from the list in the program with `barrico explain --document`; a test holds the two together. Do not edit here.\n\n\
         barrico reads and reports. It switches nothing and protects nothing: keep the wired cut-outs. The unit's manual, local codes and\n\
         licensed people come first.\n\n\
         | number | name | title | stays until acknowledged |\n| --- | --- | --- | --- |\n",
    );
    for finding in registry::ALL {
        let latched = if finding.latched { "yes" } else { "no" };
        let number = finding.code as u8;
        text.push_str(&format!(
            "| {number} | [`{0}`](#{0}) | {1} | {latched} |\n",
            finding.name, finding.title
        ));
    }
    for finding in registry::ALL {
        text.push_str(&format!("\n## {}\n\n**{}**\n", finding.name, finding.title));
        for (heading, texts) in sections(finding) {
            let texts: Vec<String> = texts.iter().map(|text| words::sentence(text)).collect();
            match texts.as_slice() {
                [only] => text.push_str(&format!("\n**{heading}.** {only}\n")),
                many => {
                    text.push_str(&format!("\n**{heading}:**\n\n"));
                    many.iter().for_each(|item| text.push_str(&format!("- {item}\n")));
                }
            }
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::super::print::WIDTH;
    use super::*;

    #[test]
    fn every_finding_is_explained_whole_and_fits_a_terminal() {
        for finding in registry::ALL {
            let text = one(finding);
            for line in text.lines() {
                assert!(line.chars().count() <= WIDTH, "{}: {line}", finding.name);
            }
            let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
            let parts = [finding.meaning, finding.caution, finding.condition];
            let act = finding.act.iter().map(|act| &act.text);
            for part in parts.iter().chain(act).chain(finding.act_not).chain(finding.sources) {
                let part = words::sentence(&part.split_whitespace().collect::<Vec<_>>().join(" "));
                assert!(flat.contains(part.trim_end_matches('.')), "{}: {part}", finding.name);
            }
        }
    }

    #[test]
    fn a_slip_is_answered_with_the_nearest_name_and_a_stranger_with_all() {
        assert!(unknown("output-lwo").contains("did you mean `output-low`"));
        assert!(unknown("wrench").contains("idle-without-flush"));
    }

    #[test]
    fn the_document_is_what_the_program_prints() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/findings.md");
        let committed = std::fs::read_to_string(path).unwrap_or_default();
        assert!(
            committed == document(),
            "daemon/docs/findings.md is not what the program prints; print it anew with `barrico explain --document`"
        );
    }
}
