//! The layers of the source tree: which module may use which.
//!
//! A stage uses no other stage; what two of them need lies in `model`. `planner` alone stands above `seam`, `stock` and
//! `nest`. Unit tests inside the modules are left out.

use std::fs;
use std::path::{Path, PathBuf};

const STAGES: [&str; 7] = [
    "fixture", "drawing", "seam", "stock", "nest", "cut", "output",
];
const GROUND: [&str; 4] = ["model", "format", "geometry", "parallel"];

/// The modules that a module may use besides itself; `None` for one that is not known here.
fn allowed(module: &str) -> Option<Vec<&'static str>> {
    let with = |more: &[&'static str]| Some([more, &GROUND].concat());
    match module {
        "geometry" | "parallel" => Some(Vec::new()),
        "model" | "format" => Some(vec!["geometry", "parallel"]),
        "fixture" | "drawing" | "seam" | "stock" | "nest" | "cut" | "output" => with(&[]),
        "planner" => with(&["seam", "stock", "nest"]),
        "job" => with(&[&STAGES[..], &["planner"]].concat()),
        "error" => with(&[&STAGES[..], &["planner", "job"]].concat()),
        "pipeline" | "disk" => with(&[&STAGES[..], &["planner", "job", "error"]].concat()),
        "lib" | "main" | "cli" => with(
            &[
                &STAGES[..],
                &["planner", "job", "error", "pipeline", "disk", "cli"],
            ]
            .concat(),
        ),
        _ => None,
    }
}

/// Modules named behind `crate::` in a text, comments and unit tests left out.
fn used(text: &str) -> Vec<String> {
    let code = text.split("#[cfg(test)]").next().unwrap_or("");
    let code: String = code
        .lines()
        .map(|l| l.split("//").next().unwrap_or(""))
        .collect::<Vec<_>>()
        .join(" ");
    let mut names = Vec::new();
    for (at, _) in code.match_indices("crate::") {
        let rest = code[at + "crate::".len()..].trim_start();
        let group = rest.strip_prefix('{');
        let entries = group.map_or(rest, |g| &g[..closing(g)]);
        let mut depth = 0;
        let mut name = Some(String::new()); // `None` once the first component of an entry is complete
        for c in entries.chars() {
            match (c, &mut name) {
                ('{', _) => depth += 1,
                ('}', _) => depth -= 1,
                (',', _) if depth == 0 => names.extend(name.replace(String::new())),
                (c, Some(n)) if depth == 0 && (c.is_alphanumeric() || c == '_') => n.push(c),
                (c, Some(n)) if depth == 0 && !c.is_whitespace() && !n.is_empty() => {
                    names.extend(name.take())
                }
                _ => {}
            }
            if group.is_none() && name.is_none() {
                break;
            }
        }
        names.extend(name);
    }
    names.retain(|n| !n.is_empty());
    names
}

/// Where the brace closes that was opened before the text.
fn closing(text: &str) -> usize {
    let mut depth = 1;
    for (i, c) in text.char_indices() {
        depth += i32::from(c == '{') - i32::from(c == '}');
        if depth == 0 {
            return i;
        }
    }
    text.len()
}

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).expect("src is readable") {
        let path = entry.expect("src is readable").path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.push(path);
        }
    }
}

#[test]
fn code_depends_downward_only() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    sources(&src, &mut files);
    assert!(files.len() > 30, "only {} files found", files.len());
    let mut faults = Vec::new();
    for file in files {
        let inside = file.strip_prefix(&src).expect("found under src");
        let first = inside
            .components()
            .next()
            .expect("a file has a name")
            .as_os_str()
            .to_string_lossy();
        let module = first.trim_end_matches(".rs").to_owned();
        let Some(may) = allowed(&module) else {
            faults.push(format!(
                "{}: module {module} has no place in the layers",
                inside.display()
            ));
            continue;
        };
        for name in used(&fs::read_to_string(&file).expect("readable")) {
            if name != module && !may.contains(&name.as_str()) {
                faults.push(format!("{} uses {name}", inside.display()));
            }
        }
    }
    faults.sort();
    faults.dedup();
    assert!(faults.is_empty(), "{faults:#?}");
}

#[test]
fn uses_are_found_in_every_spelling() {
    let text = "//! crate::job is only named here\n\
                use crate::geometry::{point::Point, region::Region};\n\
                use crate::{model::sheet::Sheet, nest, output::{a, b}};\n\
                fn f() -> crate::cut::SheetCut { crate :: x }\n\
                #[cfg(test)]\nmod tests { use crate::pipeline; }";
    assert_eq!(used(text), ["geometry", "model", "nest", "output", "cut"]);
    assert!(
        allowed("nest").is_some_and(|may| !may.contains(&"seam")),
        "a stage that uses a stage is a fault"
    );
}
