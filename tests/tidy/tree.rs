//! The tree as the rules see it: text files with their path from the top.

use std::path::{Path, PathBuf};

/// One text file of the tree. Files that are not UTF-8 (compressed captures, pictures) have an empty text.
pub struct File {
    /// From the top of the tree, with `/` between the parts.
    pub path: String,
    pub text: String,
}

impl File {
    /// A made-up file that a rule is tried on.
    pub fn sample(path: &str, text: &str) -> File {
        File { path: path.to_string(), text: text.to_string() }
    }

    /// Code that only runs in tests and reports.
    pub fn is_test(&self) -> bool {
        self.path.starts_with("tests/")
            || self.path.contains("/tests/")
            || self.path.ends_with("/tests.rs")
            || self.path.contains("/examples/")
            || self.path.contains("/benches/")
    }

    /// The text up to its own test module, which stands last in a file.
    pub fn code_without_tests(&self) -> &str {
        let mut from = 0;
        while let Some(found) = self.text[from..].find("#[cfg(test)]") {
            let at = from + found;
            let after = self.text[at + "#[cfg(test)]".len()..].trim_start();
            let after = after.strip_prefix("pub(crate) ").unwrap_or(after);
            // `mod tests;` only points at another file; `mod tests {` is the module itself.
            if after.starts_with("mod ") && after.split(';').next().is_some_and(|head| head.contains('{')) {
                return &self.text[..at];
            }
            from = at + 1;
        }
        &self.text
    }

    /// What a person may read: no test modules, comment marks or string continuations, all in lower case with one space
    /// between words, so that phrases are found across line ends.
    pub fn as_running_text(&self) -> String {
        let mut words = Vec::new();
        for line in self.code_without_tests().lines() {
            let line = line.trim_start().trim_start_matches(['/', '!', '#', '*', '>']).trim_end_matches('\\');
            words.extend(line.split_whitespace().map(str::to_lowercase));
        }
        words.join(" ")
    }
}

/// The top of the tree: the folder above this crate's manifest.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// All files of the tree, in order of their paths, without build outputs and hidden folders, with the dotfiles at the top.
pub fn tree() -> Vec<File> {
    let mut files = Vec::new();
    walk(&root(), "", &mut files);
    assert!(files.len() > 10, "found only {} files: is this the tree?", files.len());
    files.sort_by(|a, b| a.path.cmp(&b.path));
    files
}

fn walk(folder: &Path, prefix: &str, files: &mut Vec<File>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let entry = entry.unwrap();
        let name = entry.file_name().into_string().unwrap();
        let path = format!("{prefix}{name}");
        if entry.file_type().unwrap().is_dir() {
            let build_output = path == "target" || name == "node_modules" || name == "__pycache__";
            if !build_output && (!name.starts_with('.') || [".ci", ".config"].contains(&name.as_str())) {
                walk(&entry.path(), &format!("{path}/"), files);
            }
        } else {
            let text = std::fs::read(entry.path()).ok().and_then(|bytes| String::from_utf8(bytes).ok());
            files.push(File { path, text: text.unwrap_or_default() });
        }
    }
}

/// The lines of `text` that `breaks` finds, as `path:line: text`.
pub fn hits(file: &File, text: &str, breaks: impl Fn(&str) -> bool) -> Vec<String> {
    text.lines()
        .enumerate()
        .filter(|(_, line)| breaks(line))
        .map(|(at, line)| format!("{}:{}: {}", file.path, at + 1, line.trim()))
        .collect()
}

/// Fails with all violations of one rule at once.
pub fn report(rule: &str, violations: impl Iterator<Item = String>) {
    let violations: Vec<String> = violations.collect();
    assert!(violations.is_empty(), "{rule}:\n{}", violations.join("\n"));
}
