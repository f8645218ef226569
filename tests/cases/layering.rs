//! The house holds: a room uses only rooms before it, and nothing a user's file can cause ends in a panic.

use std::path::{Path, PathBuf};

/// Rooms in the order in which they may use each other: each only those before it.
const ORDER: [&str; 25] = [
    "statistic",
    "digest",
    "clock",
    "units",
    "heat",
    "radiation",
    "register",
    "read",
    "calibrate",
    "locate",
    "detect",
    "assess",
    "rank",
    "settings",
    "inspect",
    "compare",
    "followup",
    "record",
    "start",
    "plan",
    "batch",
    "told",
    "cli",
    "tell",
    "commands",
];

/// Code of one source file without comments and tests.
struct Source {
    path: PathBuf,
    room: String,
    lines: Vec<String>,
}

fn sources() -> Vec<Source> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let (mut open, mut all) = (vec![root.clone()], Vec::new());
    while let Some(folder) = open.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else if path.extension().is_some_and(|ending| ending == "rs") && !path.ends_with("tests.rs") {
                let name = path
                    .strip_prefix(&root)
                    .unwrap()
                    .iter()
                    .next()
                    .unwrap()
                    .to_string_lossy()
                    .into_owned();
                let text = std::fs::read_to_string(&path).unwrap();
                let lines = code(&text);
                all.push(Source {
                    path,
                    room: name.trim_end_matches(".rs").to_owned(),
                    lines,
                });
            }
        }
    }
    assert!(all.len() > 50, "only {} files found", all.len());
    all
}

/// Lines up to the tests, without comments.
fn code(text: &str) -> Vec<String> {
    text.lines()
        .take_while(|line| line.trim() != "#[cfg(test)]")
        .map(|line| if line.trim_start().starts_with("//") { "" } else { line }.to_owned())
        .collect()
}

/// Rooms that a line names as `crate::room` or within `crate::{room, …}`.
fn named(line: &str) -> Vec<String> {
    let mut rooms = Vec::new();
    for after in line.split("crate::").skip(1) {
        let list = after
            .strip_prefix('{')
            .map_or(after, |inner| inner.split('}').next().unwrap_or(inner));
        let parts: Vec<&str> = if after.starts_with('{') {
            list.split(',').collect()
        } else {
            vec![list]
        };
        for part in parts {
            let room: String = part
                .trim()
                .chars()
                .take_while(|c| c.is_alphanumeric() || *c == '_')
                .collect();
            rooms.push(room);
        }
    }
    rooms
}

#[test]
fn every_arrow_points_back() {
    let level = |room: &str| ORDER.iter().position(|name| *name == room);
    let (mut wrong, mut arrows) = (Vec::new(), 0);
    for source in sources() {
        if matches!(source.room.as_str(), "lib" | "main") {
            continue;
        }
        let own = level(&source.room).unwrap_or_else(|| panic!("room {} has no place in the order", source.room));
        for (number, line) in source.lines.iter().enumerate() {
            for room in named(line).into_iter().filter(|room| *room != source.room) {
                arrows += 1;
                if level(&room).is_none_or(|used| used >= own) {
                    wrong.push(format!(
                        "{}:{}: {} uses {room}",
                        source.path.display(),
                        number + 1,
                        source.room
                    ));
                }
            }
        }
    }
    assert!(arrows > 50, "only {arrows} uses found");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn nothing_panics_on_purpose() {
    let ways = [
        ".unwrap()",
        ".expect(",
        ".unwrap_err()",
        ".expect_err(",
        "panic!(",
        "todo!(",
        "unimplemented!(",
    ];
    let mut found = Vec::new();
    for source in sources() {
        for (number, line) in source.lines.iter().enumerate() {
            if ways.iter().any(|way| line.contains(way)) {
                found.push(format!("{}:{}: {}", source.path.display(), number + 1, line.trim()));
            }
        }
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
}

#[test]
fn the_map_names_every_room() {
    let map = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("DEVELOPERS.md")).unwrap();
    for room in ORDER {
        assert!(map.contains(&format!("`{room}`")), "DEVELOPERS.md does not name {room}");
    }
}

#[test]
fn the_check_itself_sees_what_it_is_for() {
    assert_eq!(named("use crate::rank::Ranked;"), ["rank"]);
    assert_eq!(named("use crate::{heat, read::Limits};"), ["heat", "read"]);
    assert_eq!(named("    let a = crate::batch::run(crate::cli::X);"), ["batch", "cli"]);
    assert_eq!(code("a\n// crate::rank\n#[cfg(test)]\nmod tests {}"), ["a", ""]);
}
