//! Damage between close and open: an error with a remedy, or moved aside with a notice; never a panic, never silently empty.

use super::super::StoreError;
use super::*;
use proptest::prelude::*;
use std::sync::OnceLock;

const ENTRIES: u64 = 60;

fn filled(name: &str) -> Folder {
    static BYTES: OnceLock<Vec<u8>> = OnceLock::new();
    let bytes = BYTES.get_or_init(|| {
        let folder = fill("filled");
        std::fs::read(folder.database()).unwrap()
    });
    let folder = Folder::new(name);
    std::fs::create_dir_all(folder.path()).unwrap();
    std::fs::write(folder.path().join(super::super::LOCK_FILE), "").unwrap();
    std::fs::write(folder.database(), bytes).unwrap();
    folder
}

fn fill(name: &str) -> Folder {
    let folder = Folder::new(name);
    let mut store = folder.open();
    store.commit(&batch((1..=ENTRIES).map(|id| log(entry(id))))).unwrap();
    store.commit(&batch((0..200).map(|second| Record::Sample(sample(at(second), 0))))).unwrap();
    store.close().unwrap();
    folder
}

/// What every kind of damage must lead to. Returns how many entries there are after a start.
fn start_after_damage(folder: &Folder) -> usize {
    let strict =
        Store::open_sound(folder.path(), &units()).map(|store| store.restore(1).unwrap().units[0].log.len());
    let refused = match strict {
        Ok(found) => {
            assert_eq!(found as u64, ENTRIES, "fewer entries and nobody was told");
            false
        }
        Err(StoreError::Damaged { .. }) => true,
        Err(StoreError::Newer { .. }) => {
            // The version in the head is what was damaged: nothing is touched, and the message says what was found.
            return usize::MAX;
        }
        Err(other) => panic!("not told as damage: {other}"),
    };
    let mut store = Store::open(folder.path(), &units()).unwrap();
    let notices = store.take_notices();
    assert_eq!(!notices.is_empty(), refused, "{notices:?}");
    if refused {
        assert!(folder.path().join("history-damaged-1.db").exists());
        assert!(notices[0].contains("history-damaged-1.db"), "{notices:?}");
        assert!(notices[0].contains("backup"), "a remedy: {notices:?}");
        // And it works again.
        store.commit(&batch([log(entry(1000))])).unwrap();
        return store.restore(1).unwrap().units[0].log.len() - 1;
    }
    store.restore(1).unwrap().units[0].log.len()
}

fn change(folder: &Folder, how: impl FnOnce(&mut Vec<u8>)) {
    let mut bytes = std::fs::read(folder.database()).unwrap();
    how(&mut bytes);
    std::fs::write(folder.database(), bytes).unwrap();
}

#[test]
fn an_emptied_file_is_damage_and_no_beginning() {
    let folder = filled("emptied");
    change(&folder, Vec::clear);
    assert_eq!(start_after_damage(&folder), 0);
}

#[test]
fn a_file_that_is_gone_is_told() {
    let folder = filled("gone");
    std::fs::remove_file(folder.database()).unwrap();
    let notices = Store::open(folder.path(), &units()).unwrap().take_notices();
    assert!(notices[0].contains("is gone"), "{notices:?}");
    assert!(Store::open(folder.path(), &units()).unwrap().take_notices().is_empty());
}

#[test]
fn a_file_cut_in_half_gives_back_what_is_left() {
    let folder = filled("cut");
    change(&folder, |bytes| bytes.truncate(bytes.len() / 2));
    start_after_damage(&folder);
}

#[test]
fn zeroed_pages_are_found() {
    for page in [0, 2, 3, 4, 5, 6, 7, 8, 9] {
        let folder = filled("zeroed");
        change(&folder, |bytes| {
            let from = (page * 4096).min(bytes.len());
            let to = (from + 4096).min(bytes.len());
            bytes[from..to].fill(0);
        });
        start_after_damage(&folder);
    }
}

#[test]
fn a_flipped_letter_in_a_record_is_found_and_the_others_come_over() {
    let folder = filled("letter");
    change(&folder, |bytes| {
        // All places: a page that was split keeps stale copies that nobody reads.
        let needle = br#""id":30,"revision":0"#;
        let places: Vec<usize> = (0..bytes.len()).filter(|at| bytes[*at..].starts_with(needle)).collect();
        assert!(!places.is_empty());
        places.iter().for_each(|at| bytes[at + 5] ^= 0x01);
    });
    assert_eq!(start_after_damage(&folder) as u64, ENTRIES - 1);
}

#[test]
fn a_text_file_in_its_place_is_moved_aside() {
    let folder = filled("text");
    change(&folder, |bytes| *bytes = b"shopping list".repeat(500));
    assert_eq!(start_after_damage(&folder), 0);
}

#[test]
fn a_log_without_its_head_is_damage() {
    let folder = filled("wal");
    std::fs::write(folder.path().join("history.db-wal"), [0_u8; 5000]).unwrap();
    assert_eq!(start_after_damage(&folder) as u64, ENTRIES, "the file itself was sound");
}

#[test]
fn a_newer_file_is_left_alone() {
    let folder = filled("newer");
    folder.open().connection.execute_batch("PRAGMA user_version = 2").unwrap();
    for result in [Store::open(folder.path(), &units()), Store::open_sound(folder.path(), &units())] {
        let error = result.unwrap_err();
        assert!(matches!(error, StoreError::Newer { .. }), "{error}");
        assert!(error.to_string().contains("Install that version again"));
    }
}

#[test]
fn after_nine_damaged_files_a_person_must_look() {
    let folder = filled("nine");
    for _ in 0..super::super::limits::DAMAGED_KEPT_MAX {
        change(&folder, Vec::clear);
        Store::open(folder.path(), &units()).unwrap();
    }
    change(&folder, Vec::clear);
    let error = Store::open(folder.path(), &units()).unwrap_err().to_string();
    assert!(error.contains("Replace the memory card"), "{error}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// Any byte of the file: either all entries are there, or damage is told.
    #[test]
    fn a_flipped_byte_is_never_silent(place in 0.0..1.0_f64, mask in 1_u8..) {
        let folder = filled("flipped");
        change(&folder, |bytes| {
            let at = (place * bytes.len() as f64) as usize;
            bytes[at] ^= mask;
        });
        start_after_damage(&folder);
    }
}
