//! Tests of writing a set of files whole or not at all.

use super::*;

fn set(content: &str) -> Vec<ShopFile> {
    vec![
        ShopFile::new("a.txt", content),
        ShopFile::new("dxf/b.dxf", "second"),
        ShopFile::new("dxf/c.dxf", "third"),
    ]
}

fn entries(folder: &Path) -> Vec<String> {
    list(folder).expect("readable").into_keys().collect()
}

#[test]
fn a_set_appears_whole_with_its_parents_and_nothing_beside_it() {
    let root = tempfile::tempdir().expect("a folder");
    let target = root.path().join("exports/job-A");
    let done = write_set(&target, &set("x"), Existing::Keep).expect("written");
    assert_eq!(done, Written::Created);
    assert_eq!(
        entries(root.path()),
        [
            "exports/job-A/a.txt",
            "exports/job-A/dxf/b.dxf",
            "exports/job-A/dxf/c.dxf"
        ]
    );
    assert_eq!(fs::read(target.join("a.txt")).expect("there"), b"x");
}

#[test]
fn the_same_set_again_changes_nothing_and_another_one_is_refused() {
    let root = tempfile::tempdir().expect("a folder");
    let target = root.path().join("job");
    write_set(&target, &set("x"), Existing::Keep).expect("written");
    let again = write_set(&target, &set("x"), Existing::Keep).expect("the same");
    assert_eq!(again, Written::Unchanged);
    let refused = write_set(&target, &set("y"), Existing::Keep).expect_err("different");
    assert!(
        matches!(&refused, ExportError::TargetDiffers { difference, .. } if difference == "`a.txt` differs"),
        "{refused}"
    );
    let fewer = write_set(&target, &set("x")[..2], Existing::Keep).expect_err("fewer");
    assert!(
        fewer.to_string().contains("`dxf/c.dxf` would go"),
        "{fewer}"
    );
    assert_eq!(fs::read(target.join("a.txt")).expect("there"), b"x");
    let replaced = write_set(&target, &set("y")[..2], Existing::Replace).expect("replaced");
    assert_eq!(replaced, Written::Replaced);
    assert_eq!(entries(root.path()), ["job/a.txt", "job/dxf/b.dxf"]);
}

#[test]
fn an_empty_target_folder_is_filled() {
    let root = tempfile::tempdir().expect("a folder");
    let target = root.path().join("job");
    fs::create_dir(&target).expect("made");
    let done = write_set(&target, &set("x"), Existing::Keep).expect("written");
    assert_eq!(done, Written::Created);
}

#[test]
fn a_disk_that_fills_up_at_any_file_leaves_everything_as_it_was() {
    for full_at in 0..3 {
        for old in [None, Some("old")] {
            let root = tempfile::tempdir().expect("a folder");
            let target = root.path().join("exports/job");
            if let Some(old) = old {
                write_set(&target, &set(old), Existing::Keep).expect("written");
            }
            let mut count = 0;
            let result = write_set_with(
                &target,
                &set("new"),
                Existing::Replace,
                &mut |path, bytes| {
                    count += 1;
                    if count > full_at {
                        fs::write(path, &bytes[..1])?;
                        return Err(io::Error::from(io::ErrorKind::StorageFull));
                    }
                    fs::write(path, bytes)
                },
            );
            let error = result.expect_err("full");
            assert!(
                matches!(&error, ExportError::DiskFull { path } if path.starts_with(&target)),
                "{error}"
            );
            match old {
                None => assert!(
                    fs::read_dir(root.path()).expect("there").next().is_none(),
                    "something was left behind"
                ),
                Some(old) => {
                    assert_eq!(entries(root.path()).len(), 3);
                    assert_eq!(
                        fs::read(target.join("a.txt")).expect("there"),
                        old.as_bytes()
                    );
                }
            }
        }
    }
}

#[test]
fn a_file_in_the_way_is_named() {
    let root = tempfile::tempdir().expect("a folder");
    let file = root.path().join("job");
    fs::write(&file, "a file").expect("written");
    for target in [file.clone(), file.join("below"), file.join("far/below")] {
        let error = write_set(&target, &set("x"), Existing::Replace).expect_err("a file is there");
        assert!(
            matches!(&error, ExportError::NotAFolder { path } if *path == file),
            "{error:?}"
        );
    }
    assert_eq!(fs::read(&file).expect("there"), b"a file");
}

#[test]
fn names_that_leave_the_folder_or_collide_are_refused_before_anything_is_written() {
    let root = tempfile::tempdir().expect("a folder");
    let target = root.path().join("job");
    for bad in [
        "", "/etc/x", "../x", "a/../b", "a//b", "a\\b", "c:x", "nul.txt", "COM1", "x.", "a\nb",
        "x ",
    ] {
        let error = write_set(&target, &[ShopFile::new(bad, "")], Existing::Keep);
        assert!(
            matches!(error, Err(ExportError::BadName { .. })),
            "`{bad}`: {error:?}"
        );
    }
    for pair in [["a.txt", "A.TXT"], ["a", "a/b"]] {
        let files = pair.map(|n| ShopFile::new(n, ""));
        let error = write_set(&target, &files, Existing::Keep);
        assert!(
            matches!(error, Err(ExportError::SameName { .. })),
            "{pair:?}: {error:?}"
        );
    }
    assert!(bad_name("comb.txt").is_none() && bad_name("common/con-rod.dxf").is_none());
    assert!(!target.exists());
}

#[test]
fn each_cause_has_its_own_error() {
    let cause = |kind| ExportError::writing(Path::new("p"), io::Error::from(kind));
    assert!(matches!(
        cause(io::ErrorKind::QuotaExceeded),
        ExportError::DiskFull { .. }
    ));
    assert!(matches!(
        cause(io::ErrorKind::PermissionDenied),
        ExportError::Forbidden { .. }
    ));
    assert!(matches!(
        cause(io::ErrorKind::ReadOnlyFilesystem),
        ExportError::Forbidden { .. }
    ));
    assert!(matches!(
        cause(io::ErrorKind::InvalidFilename),
        ExportError::NameTooLong { .. }
    ));
    assert!(matches!(
        cause(io::ErrorKind::Interrupted),
        ExportError::Failed { .. }
    ));
}
