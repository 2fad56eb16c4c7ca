//! The file: made whole or not at all, checked when opened, brought up to the present schema.

use super::{StoreError, limits};
use barrico_model::{Quantity, WallMs};
use rusqlite::{Connection, OpenFlags};
use std::fs::{DirBuilder, OpenOptions, Permissions};
use std::io;
use std::os::unix::fs::{DirBuilderExt, OpenOptionsExt, PermissionsExt};
use std::path::{Path, PathBuf};

/// Name of the file in the state folder.
pub const DATABASE_FILE: &str = "history.db";
/// The write-ahead log is cut back to this size after a checkpoint, bytes.
const WAL_BYTES_KEPT: i64 = 4 * 1024 * 1024;
/// Says in the file's head that it is ours: "brrc".
const APPLICATION_ID: i32 = 0x6272_7263;
/// One step per version; `user_version` counts the steps done.
const MIGRATIONS: &[&str] = &[include_str!("schema.sql")];
/// Tables that hold confirmed things: checked whole at each start. Samples are many and are checked as they are read.
const CHECKED_TABLES: [&str; 4] = ["meta", "unit", "boot", "record"];

/// The folder, made and closed to others.
pub fn prepare_folder(folder: &Path) -> Result<(), StoreError> {
    let failed = |source: io::Error| StoreError::Folder { path: folder.to_owned(), source };
    DirBuilder::new().recursive(true).mode(0o700).create(folder).map_err(failed)?;
    set_mode(folder, 0o700)
}

fn set_mode(path: &Path, mode: u32) -> Result<(), StoreError> {
    let failed = |source: io::Error| StoreError::Folder { path: path.to_owned(), source };
    let present = std::fs::metadata(path).map_err(failed)?.permissions().mode() & 0o777;
    if present == mode {
        return Ok(());
    }
    std::fs::set_permissions(path, Permissions::from_mode(mode)).map_err(failed)
}

/// Opens the file for writing; makes it if there is none.
pub fn open(folder: &Path, now: Option<WallMs>) -> Result<Connection, StoreError> {
    let path = folder.join(DATABASE_FILE);
    if !path.exists() {
        create(folder, &path, now)?;
    }
    for file in with_companions(&path) {
        if file.exists() {
            set_mode(&file, 0o600)?;
        }
    }
    check_log(&path)?;
    let connection = connect(&path, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
    let sqlite = |error: rusqlite::Error| StoreError::from_sqlite(&path, &error);
    check_head(&connection, &path)?;
    let mode: String =
        connection.query_row("PRAGMA journal_mode = WAL", [], |row| row.get(0)).map_err(sqlite)?;
    if mode != "wal" {
        return Err(StoreError::NotWritable { path, why: format!("journal mode is {mode}") });
    }
    // Without it one large import would keep the size of its log for ever.
    connection.execute_batch(&format!("PRAGMA journal_size_limit = {WAL_BYTES_KEPT}")).map_err(sqlite)?;
    migrate(&connection, &path)?;
    check_tables(&connection, &path)?;
    add_quantity_columns(&connection).map_err(sqlite)?;
    Ok(connection)
}

/// A write-ahead log whose head is none would be taken for an empty one, and what it holds would be gone without a word.
fn check_log(path: &Path) -> Result<(), StoreError> {
    // First word without its last bit, and the format in the second (SQLite, "Database File Format", section 4.1).
    const MAGIC: u32 = 0x377f_0682;
    const FORMAT: u32 = 3_007_000;
    let [_, log, _] = with_companions(path);
    let bytes = match std::fs::File::open(&log) {
        Ok(file) => read_up_to(file, 8).map_err(|source| StoreError::Folder { path: log.clone(), source })?,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
        Err(source) => return Err(StoreError::Folder { path: log, source }),
    };
    let word = |at: usize| {
        bytes.get(at..at + 4).map(|word| word.iter().fold(0, |sum, byte| sum << 8 | u32::from(*byte)))
    };
    let sound = word(0).is_some_and(|magic| magic & !1 == MAGIC) && word(4) == Some(FORMAT);
    if bytes.is_empty() || sound {
        return Ok(());
    }
    let why =
        "the head of its -wal file, which holds the latest entries, is not as it was written".to_owned();
    Err(StoreError::Damaged { path: path.to_owned(), why })
}

fn read_up_to(file: std::fs::File, count: u64) -> io::Result<Vec<u8>> {
    use std::io::Read;
    let mut bytes = Vec::new();
    file.take(count).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// Opens the file for reading only.
pub fn open_read_only(folder: &Path) -> Result<Connection, StoreError> {
    let path = folder.join(DATABASE_FILE);
    if !path.exists() {
        return Err(StoreError::Missing(folder.to_owned()));
    }
    let connection = connect(&path, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
    check_head(&connection, &path)?;
    Ok(connection)
}

/// The file and the two that SQLite keeps beside it.
pub fn with_companions(path: &Path) -> [PathBuf; 3] {
    let beside = |suffix: &str| {
        let mut name = path.as_os_str().to_owned();
        name.push(suffix);
        PathBuf::from(name)
    };
    [path.to_owned(), beside("-wal"), beside("-shm")]
}

fn connect(path: &Path, flags: OpenFlags) -> Result<Connection, StoreError> {
    let sqlite = |error: rusqlite::Error| StoreError::from_sqlite(path, &error);
    let connection =
        Connection::open_with_flags(path, flags | OpenFlags::SQLITE_OPEN_NO_MUTEX).map_err(sqlite)?;
    connection.busy_timeout(limits::BUSY_TIMEOUT).map_err(sqlite)?;
    // A crafted file must not make SQLite run functions from its schema.
    connection.execute_batch("PRAGMA trusted_schema = OFF; PRAGMA cell_size_check = ON").map_err(sqlite)?;
    Ok(connection)
}

/// Made under another name and renamed when complete: an empty file under the real name is damage, not a beginning.
fn create(folder: &Path, path: &Path, now: Option<WallMs>) -> Result<(), StoreError> {
    let new = folder.join("history.db.new");
    for file in with_companions(&new) {
        match std::fs::remove_file(&file) {
            Err(source) if source.kind() != io::ErrorKind::NotFound => {
                return Err(StoreError::Folder { path: file, source });
            }
            _ => {}
        }
    }
    let failed = |source: io::Error| StoreError::Folder { path: new.clone(), source };
    OpenOptions::new().write(true).create_new(true).mode(0o600).open(&new).map_err(failed)?;
    let connection = connect(&new, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
    let sqlite = |error: rusqlite::Error| StoreError::from_sqlite(&new, &error);
    let mut random = [0; 8];
    getrandom::fill(&mut random).map_err(|error| failed(io::Error::other(error.to_string())))?;
    connection.execute_batch(&format!("PRAGMA application_id = {APPLICATION_ID}")).map_err(sqlite)?;
    migrate(&connection, &new)?;
    for (key, value) in
        [("store_id", i64::from_le_bytes(random)), ("created_ms", now.unwrap_or(0)), ("samples_dropped", 0)]
    {
        connection.execute("INSERT INTO meta (key, value) VALUES (?1, ?2)", (key, value)).map_err(sqlite)?;
    }
    connection.close().map_err(|(_, error)| sqlite(error))?;
    std::fs::rename(&new, path).map_err(failed)?;
    // The rename must be on disk before anything is confirmed.
    let directory = std::fs::File::open(folder).map_err(failed)?;
    directory.sync_all().map_err(failed)
}

fn check_head(connection: &Connection, path: &Path) -> Result<(), StoreError> {
    let sqlite = |error: rusqlite::Error| StoreError::from_sqlite(path, &error);
    let id: i32 = connection.query_row("PRAGMA application_id", [], |row| row.get(0)).map_err(sqlite)?;
    if id != APPLICATION_ID {
        let why = "it does not begin like a history of barrico".to_owned();
        return Err(StoreError::Damaged { path: path.to_owned(), why });
    }
    let version = user_version(connection).map_err(sqlite)?;
    if MIGRATIONS.len() < version {
        let why = format!("version {version} of the file; this program knows {}", MIGRATIONS.len());
        return Err(StoreError::Newer { path: path.to_owned(), why });
    }
    Ok(())
}

fn user_version(connection: &Connection) -> rusqlite::Result<usize> {
    let version: i64 = connection.query_row("PRAGMA user_version", [], |row| row.get(0))?;
    // A negative one was written by nobody; it counts as one that is too new.
    Ok(usize::try_from(version).unwrap_or(usize::MAX))
}

fn migrate(connection: &Connection, path: &Path) -> Result<(), StoreError> {
    let sqlite = |error: rusqlite::Error| StoreError::from_sqlite(path, &error);
    let version = user_version(connection).map_err(sqlite)?;
    for (step, sql) in MIGRATIONS.iter().enumerate().skip(version) {
        let steps = format!("BEGIN IMMEDIATE; {sql}; PRAGMA user_version = {}; COMMIT;", step + 1);
        connection.execute_batch(&steps).map_err(sqlite)?;
    }
    Ok(())
}

fn check_tables(connection: &Connection, path: &Path) -> Result<(), StoreError> {
    let sqlite = |error: rusqlite::Error| StoreError::from_sqlite(path, &error);
    for table in CHECKED_TABLES {
        let said: String = connection
            .query_row(&format!("PRAGMA integrity_check('{table}')"), [], |row| row.get(0))
            .map_err(sqlite)?;
        if said != "ok" {
            let why = said.lines().next().unwrap_or_default().chars().take(200).collect();
            return Err(StoreError::Damaged { path: path.to_owned(), why });
        }
    }
    let ids: i64 = connection
        .query_row("SELECT count(*) FROM meta WHERE key IN ('store_id', 'samples_dropped')", [], |row| {
            row.get(0)
        })
        .map_err(sqlite)?;
    if ids != 2 {
        return Err(StoreError::Damaged { path: path.to_owned(), why: "its number is missing".to_owned() });
    }
    Ok(())
}

/// A column for each quantity that the file does not have yet. New quantities need no new version of the file.
fn add_quantity_columns(connection: &Connection) -> rusqlite::Result<()> {
    let mut statement = connection.prepare("SELECT name FROM pragma_table_info('sample')")?;
    let present: Vec<String> = statement.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
    for quantity in
        Quantity::ALL.iter().filter(|quantity| !present.iter().any(|name| name == quantity.json_key()))
    {
        connection.execute_batch(&format!("ALTER TABLE sample ADD COLUMN {} REAL", quantity.json_key()))?;
    }
    Ok(())
}
