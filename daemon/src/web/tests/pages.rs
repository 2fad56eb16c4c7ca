//! Whole pages in several states, as a browser gets them.

use super::Bench;
use crate::engine::view::View;
use crate::publish::tests::views;
use axum::http::StatusCode;
use std::path::PathBuf;

fn states() -> [(&'static str, View); 5] {
    [
        ("healthy", views::healthy()),
        ("findings", views::findings()),
        ("stopped", views::stopped()),
        ("nothing-known", views::nothing_known()),
        ("hostile", views::hostile()),
    ]
}

/// The first page must reach a phone over poor Wi-Fi in a moment.
const PAGE_BYTES_MAX: usize = 60_000;

#[tokio::test]
async fn every_state_renders_small_and_without_anything_from_elsewhere() {
    for (name, view) in states() {
        let bench = Bench::new(view);
        let page = bench.get("/").await;
        assert_eq!(page.status, StatusCode::OK, "{name}");
        let all = page.text.len()
            + bench.get("/style.css").await.text.len()
            + bench.get("/live.js").await.text.len();
        println!("{name}: {} bytes, {all} with style and script", page.text.len());
        assert!(all < PAGE_BYTES_MAX, "{name}: {all} bytes");
        assert!(
            !page.text.contains("http://") && !page.text.contains("https://"),
            "{name} names another place"
        );
        assert!(!page.text.contains("style="), "{name}: the content policy forbids styles in the markup");
        assert!(!page.text.contains("onclick"), "{name}: no programs in the markup");
        assert!(page.text.contains("barrico only watches"), "{name}: the standing cautions");
        assert!(!page.text.contains("NaN"), "{name}");
        write_for_looking(name, &page.text, &bench).await;
    }
}

/// Leaves the pages where a person can open them, if the environment names a folder.
async fn write_for_looking(name: &str, html: &str, bench: &Bench) {
    let Some(folder) = std::env::var_os("BARRICO_PAGES").map(PathBuf::from) else { return };
    std::fs::create_dir_all(&folder).unwrap();
    std::fs::write(folder.join("style.css"), bench.get("/style.css").await.text).unwrap();
    std::fs::write(
        folder.join(format!("{name}.html")),
        html.replace("href=\"/style.css", "href=\"style.css"),
    )
    .unwrap();
}

#[tokio::test]
async fn hostile_names_stay_text() {
    let bench = Bench::new(views::hostile());
    for path in [
        "/",
        "/part/main/findings",
        "/part/main/now",
        "/part/boat",
        "/explain/%3Cscript%3E",
        "/nowhere",
        "/log",
    ] {
        let page = bench.get(path).await;
        assert!(!page.text.contains("<script>alert"), "{path}");
    }
    assert!(bench.get("/").await.text.contains("&#60;script&#62;alert"), "the name is shown, escaped");
}

#[tokio::test]
async fn the_script_gets_parts_and_a_wrong_name_gets_nothing() {
    let bench = Bench::new(views::findings());
    for part in ["boat", "main/now", "main/findings", "main/readings", "main/runs"] {
        let answer = bench.get(&format!("/part/{part}")).await;
        assert_eq!(answer.status, StatusCode::OK, "{part}");
        assert!(!answer.text.contains("<html"), "{part} is a part, not a page");
    }
    for part in ["main", "main/", "other/now", "main/form"] {
        assert_eq!(bench.get(&format!("/part/{part}")).await.status, StatusCode::NOT_FOUND, "{part}");
    }
}

#[tokio::test]
async fn json_and_metrics_answer() {
    let bench = Bench::new(views::findings());
    let json = bench.get("/api/state.json").await;
    let value: serde_json::Value = serde_json::from_str(&json.text).unwrap();
    assert_eq!(value["units"][0]["id"], "main");
    assert_eq!(json.header("content-type"), "application/json");
    assert!(bench.get("/metrics").await.text.starts_with("# HELP barrico_"));
}

#[tokio::test]
async fn what_no_person_may_be_told_is_not_on_any_page() {
    for (name, view) in states() {
        let text = Bench::new(view).get("/").await.text.to_lowercase();
        // Said in two parts, since these words may stand nowhere in the tree without a denial.
        for phrase in
            [concat!("safe to ", "drink"), concat!("good ", "water"), concat!("raise the ", "pressure")]
        {
            assert!(!text.contains(phrase), "{name}: {phrase}");
        }
    }
}
