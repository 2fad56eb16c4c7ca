//! `compare` on its example: text that fits, JSON that is whole.

use super::*;
use crate::compare::tests::example;
use serde_json::Value;

#[test]
fn the_text_fits_a_terminal_of_100_columns() {
    let text = text::of(&example());
    for line in text.lines() {
        assert!(line.chars().count() <= 100, "{line}");
    }
    let flowing = text.split_whitespace().collect::<Vec<_>>().join(" ");
    for part in [
        "An invented example",
        "A star marks the water",
        "15 to 25 % of an element",
        "flux 15 to 30 L/(m² h)",
        "larger pump",
        "No element is left",
        "suction lift",
        "not what a unit makes",
        "a third fewer hours is not a third less fuel",
        "What the others add to One element",
    ] {
        assert!(flowing.contains(part), "no {part} in\n{text}");
    }
}

/// Every number has its deviation beside it, every null its reason.
fn whole(value: &Value, path: &str, seen: &mut usize) {
    match value {
        Value::Object(all) => {
            if let (Some(Value::Object(uncertainty)), Some(Value::Object(reasons))) =
                (all.get("uncertainty"), all.get("reasons"))
            {
                for key in uncertainty.keys() {
                    *seen += 1;
                    let value = &all[key];
                    assert_eq!(value.is_null(), reasons.contains_key(key), "{path}.{key}");
                    assert_eq!(value.is_null(), uncertainty[key].is_null(), "{path}.{key}");
                }
            }
            all.iter().for_each(|(key, value)| whole(value, &format!("{path}.{key}"), seen));
        }
        Value::Array(items) => items.iter().for_each(|value| whole(value, path, seen)),
        _ => {}
    }
}

#[test]
fn json_is_whole() {
    let compared = example();
    let json = json::of(&compared);
    let mut seen = 0;
    whole(&json, "", &mut seen);
    assert!(1000 < seen, "{seen} figures");
    assert_eq!(json["schema"], "barrico-compare");
    assert_eq!(json["candidates"].as_array().unwrap().len(), 4);
    let listed = &json["candidates"][1]["variants"][0];
    assert_eq!(listed["variant"], "as-listed");
    assert_eq!(listed["worst_water"]["product_flow_l_h"], "home");
    let adds = &json["candidates"][1]["against_first"][0]["product_flow_l_h"];
    let of =
        |at: usize| json["candidates"][at]["variants"][0]["waters"][0]["product_flow_l_h"].as_f64().unwrap();
    assert!((adds.as_f64().unwrap() - (of(1) - of(0))).abs() < 1e-3);
    assert!(json["need"]["filling"]["tank_is_enough"].as_bool().unwrap());
}

#[test]
fn a_page_is_written_and_mistakes_end_with_78() {
    let folder = std::env::temp_dir().join(format!("barrico-compare-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let page = folder.join("page.html");
    let arguments = Arguments {
        file: None,
        example: true,
        print_example: false,
        json: false,
        html: Some(page.clone()),
        annex: false,
    };
    main(&arguments).unwrap();
    assert!(std::fs::read_to_string(&page).unwrap().starts_with("<!DOCTYPE html>"));
    let file = folder.join("wrong.toml");
    std::fs::write(&file, EXAMPLE.replace("kind = \"generator\"", "kind = \"windmill\"")).unwrap();
    let wrong = Arguments {
        file: Some(file),
        example: false,
        print_example: false,
        json: false,
        html: None,
        annex: false,
    };
    let error = main(&wrong).unwrap_err();
    let problems = error.downcast_ref::<crate::settings::Problems>().expect("problems, so exit code 78");
    assert!(problems.to_string().contains("supplies.generator.kind"), "{problems}");
    std::fs::remove_dir_all(&folder).unwrap();
}
