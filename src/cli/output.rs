//! Writing a result to a file, whole or not at all.
//!
//! The new text goes to a fresh file beside the old one, is brought to the
//! disk, and only then takes the old one's place. Whatever goes wrong before
//! that, the old file is as it was.

use super::{Failure, out};
use std::fs::{self, File, OpenOptions};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};
use tempfile::{Builder, NamedTempFile};

/// Writes a file. It is an error if it would replace one of the inputs.
pub(super) fn write<'a>(
    path: &Path,
    text: &str,
    inputs: impl IntoIterator<Item = &'a Path>,
) -> Result<(), Failure> {
    let name = path.display();
    let failed =
        |error: &io::Error| Failure::new(format!("cannot write {name}: {}", out::reason(error)));
    match fs::metadata(path) {
        Ok(facts) if facts.is_dir() => {
            Err(failed(&ErrorKind::IsADirectory.into()).help("name a file in it"))
        }
        Ok(facts) if !facts.is_file() => into_stream(path, text).map_err(|error| failed(&error)),
        Ok(facts) => {
            let place = fs::canonicalize(path).map_err(|error| failed(&error))?;
            if inputs.into_iter().any(|input| fs::canonicalize(input).is_ok_and(|i| i == place)) {
                return Err(Failure::new(format!(
                    "{name} would be overwritten, and it is an input"
                ))
                .help("write to another file, and compare the two before replacing one"));
            }
            if facts.permissions().readonly() {
                return Err(Failure::new(format!("cannot write {name}: it is read-only")));
            }
            replace(&place, text, Some(facts.permissions())).map_err(|error| failed(&error))
        }
        Err(error) if error.kind() == ErrorKind::NotFound => {
            replace(path, text, None).map_err(|error| failed(&error))
        }
        Err(error) => Err(failed(&error)),
    }
}

/// Writes to what is no file, such as a pipe or a device, and cannot be replaced.
fn into_stream(path: &Path, text: &str) -> io::Result<()> {
    let mut stream = OpenOptions::new().write(true).open(path)?;
    stream.write_all(text.as_bytes())
}

/// Puts a new file in the place of an old one, or of none.
fn replace(path: &Path, text: &str, permissions: Option<fs::Permissions>) -> io::Result<()> {
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.to_owned(),
        _ => PathBuf::from("."),
    };
    let mut fresh = beside(&folder)?;
    fresh.write_all(text.as_bytes())?;
    if let Some(permissions) = permissions {
        fresh.as_file().set_permissions(permissions)?;
    }
    fresh.as_file().sync_all()?;
    fresh.persist(path).map_err(|error| error.error)?;
    // The name is only safe once the folder is on the disk too; not every file system can do that,
    // and the file is whole either way.
    if let Ok(folder) = File::open(folder) {
        let _ = folder.sync_all();
    }
    Ok(())
}

/// A file of a name of its own in the folder, which is removed again unless it is put in place.
fn beside(folder: &Path) -> io::Result<NamedTempFile> {
    let mut builder = Builder::new();
    builder.prefix(".wale-").suffix(".tmp");
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    builder.tempfile_in(folder)
}

#[cfg(test)]
mod tests {
    use super::*;
    use tempfile::TempDir;

    fn folder() -> TempDir {
        TempDir::new().expect("a folder can be made")
    }

    fn names(folder: &TempDir) -> Vec<String> {
        let entries = fs::read_dir(folder.path()).expect("it can be listed");
        let mut names: Vec<_> = entries
            .map(|entry| entry.expect("it can be read").file_name().to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    }

    fn said(result: Result<(), Failure>, folder: &TempDir) -> String {
        let failure = result.expect_err("it fails");
        let place = format!("{}/", folder.path().display());
        failure.message.replace(&place, "")
    }

    #[test]
    fn a_file_is_made_or_replaced_and_nothing_else_is_left() {
        let folder = folder();
        let path = folder.path().join("cap.wale");
        for text in ["first", "second, longer", ""] {
            write(&path, text, []).expect("it can be written");
            assert_eq!(fs::read_to_string(&path).expect("it is there"), text);
            assert_eq!(names(&folder), ["cap.wale"]);
        }
    }

    #[test]
    fn an_input_is_not_overwritten_by_any_of_its_names() {
        let folder = folder();
        let path = folder.path().join("cap.wale");
        fs::write(&path, "old").expect("it can be written");
        let winding = folder.path().join(".").join("cap.wale");
        for output in [&path, &winding] {
            let message = said(write(output, "new", [winding.as_path(), &path]), &folder);
            assert!(message.ends_with("cap.wale would be overwritten, and it is an input"));
        }
        assert_eq!(fs::read_to_string(&path).expect("it is there"), "old");
    }

    #[test]
    fn a_folder_or_a_missing_folder_is_no_place_to_write() {
        let folder = folder();
        fs::create_dir(folder.path().join("caps")).expect("it can be made");
        let message = said(write(&folder.path().join("caps"), "new", []), &folder);
        assert_eq!(message, "cannot write caps: it is a folder");
        let message = said(write(&folder.path().join("hats/cap.wale"), "new", []), &folder);
        assert_eq!(message, "cannot write hats/cap.wale: there is no such file or folder");
    }

    #[test]
    fn a_file_that_may_not_be_changed_is_left_alone() {
        let folder = folder();
        let path = folder.path().join("cap.wale");
        fs::write(&path, "old").expect("it can be written");
        let mut permissions = fs::metadata(&path).expect("it is there").permissions();
        permissions.set_readonly(true);
        fs::set_permissions(&path, permissions).expect("they can be set");
        let message = said(write(&path, "new", []), &folder);
        assert_eq!(message, "cannot write cap.wale: it is read-only");
        assert_eq!(fs::read_to_string(&path).expect("it is there"), "old");
        assert_eq!(names(&folder), ["cap.wale"]);
    }

    #[cfg(unix)]
    #[test]
    fn a_replaced_file_keeps_its_permissions_and_the_links_to_it() {
        use std::os::unix::fs::{PermissionsExt as _, symlink};
        let folder = folder();
        let path = folder.path().join("cap.wale");
        let link = folder.path().join("link.wale");
        fs::write(&path, "old").expect("it can be written");
        fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).expect("they can be set");
        symlink(&path, &link).expect("it can be made");
        write(&link, "new", []).expect("it can be written");
        assert_eq!(fs::read_to_string(&path).expect("it is there"), "new");
        assert!(fs::symlink_metadata(&link).expect("it is there").is_symlink());
        let mode = fs::metadata(&path).expect("it is there").permissions().mode();
        assert_eq!(mode & 0o777, 0o640);
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn a_device_is_written_to_and_not_replaced() {
        use std::os::unix::fs::FileTypeExt as _;
        let full = Path::new("/dev/full");
        let failure = write(full, "new", []).expect_err("it is full");
        assert_eq!(failure.message, "cannot write /dev/full: there is no room left");
        assert!(fs::metadata(full).expect("it is there").file_type().is_char_device());
        write(Path::new("/dev/null"), "new", []).expect("it takes everything");
    }
}
