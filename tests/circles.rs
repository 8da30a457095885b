//! No files import each other in a circle: whoever reads one has read all that it rests on when the last of
//! its imports is read.

use std::collections::{BTreeMap, BTreeSet};
use std::error::Error;
use std::fs;
use std::path::Path;

use crate::flow::{code_of, sources};

type Fallible<T = ()> = Result<T, Box<dyn Error>>;

/// The path of a module, outermost first.
type Module = Vec<String>;

/// The code of every module of the library, without tests and comments.
fn modules() -> Fallible<BTreeMap<Module, String>> {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut found = BTreeMap::new();
    for file in sources(&src)? {
        let inside = file.strip_prefix(&src)?.with_extension("");
        let words = inside.components().map(|part| part.as_os_str().to_string_lossy().into_owned());
        let mut module: Module = words.collect();
        if module == ["main"] {
            continue;
        }
        if module.last().is_some_and(|name| name == "mod" || name == "lib") {
            module.pop();
        }
        found.insert(module, code_of(&fs::read_to_string(&file)?));
    }
    Ok(found)
}

/// The paths that `a::{b, c::{d, e}}` stands for.
fn paths(text: &str) -> Vec<String> {
    let Some((head, rest)) = text.split_once('{') else { return vec![text.trim().to_owned()] };
    let inner = rest.rsplit_once('}').map_or(rest, |(inner, _)| inner);
    let (mut parts, mut depth) = (vec![String::new()], 0_u32);
    for c in inner.chars() {
        match c {
            '{' => depth += 1,
            '}' => depth = depth.saturating_sub(1),
            _ => {}
        }
        match parts.last_mut() {
            Some(part) if c != ',' || depth > 0 => part.push(c),
            _ => parts.push(String::new()),
        }
    }
    let parts = parts.iter().filter(|part| !part.trim().is_empty());
    parts.flat_map(|part| paths(part)).map(|path| format!("{}{path}", head.trim())).collect()
}

/// A path as modules and names, from the crate on; nothing for one of another crate.
fn from_crate(path: &str, module: &Module, all: &BTreeMap<Module, String>) -> Option<Module> {
    let path = path.split(" as ").next().unwrap_or(path);
    let words: Module = path.split("::").map(|word| word.trim().to_owned()).collect();
    let (first, rest) = words.split_first()?;
    match first.as_str() {
        "crate" => Some(rest.to_vec()),
        "self" => Some([module, rest].concat()),
        child => {
            let inside = [module.as_slice(), &[child.to_owned()]].concat();
            all.contains_key(&inside).then(|| [module.as_slice(), &words].concat())
        }
    }
}

/// What the `use` lines of a module name, those that it passes on apart.
fn imports(
    module: &Module,
    code: &str,
    all: &BTreeMap<Module, String>,
) -> (Vec<Module>, Vec<Module>) {
    let (mut used, mut passed_on) = (Vec::new(), Vec::new());
    for (before, rest) in code.match_indices("use ").map(|(at, _)| code.split_at(at)) {
        let line = before.rsplit('\n').next().unwrap_or_default().trim();
        let Some((text, _)) = rest.trim_start_matches("use ").split_once(';') else { continue };
        if !line.is_empty() && !line.starts_with("pub") {
            continue;
        }
        let named = paths(text).into_iter().filter_map(|path| from_crate(&path, module, all));
        if line.is_empty() { used.extend(named) } else { passed_on.extend(named) }
    }
    // Paths within the code; those of the imports stand there once more, which does no harm.
    for part in code.split("crate::").skip(1) {
        let end = part.find(|c: char| !(c.is_ascii_alphanumeric() || matches!(c, '_' | ':')));
        let path = part.get(..end.unwrap_or(part.len())).unwrap_or_default();
        let is_import = code.contains(&format!("use crate::{path}"));
        if !is_import {
            used.push(path.split("::").map(str::to_owned).collect());
        }
    }
    (used, passed_on)
}

/// The module that a path leads to, through what is passed on.
fn leads_to(path: &[String], doors: &BTreeMap<Module, Vec<Module>>, steps: usize) -> Module {
    let within = (0..=path.len()).rev().filter_map(|n| path.get(..n));
    let Some(module) = within.into_iter().find(|m| doors.contains_key(*m)) else {
        return Vec::new();
    };
    let name = path.get(module.len());
    let passed = doors.get(module).into_iter().flatten().find(|to| to.last() == name);
    match passed {
        Some(to) if steps > 0 => leads_to(to, doors, steps - 1),
        _ => module.to_vec(),
    }
}

#[test]
fn no_files_import_each_other_in_a_circle() -> Fallible {
    const MOST_DOORS: usize = 6;
    let all = modules()?;
    let read: Vec<_> = all.iter().map(|(m, code)| (m, imports(m, code, &all))).collect();
    let doors = read.iter().map(|(m, (_, passed_on))| ((*m).clone(), passed_on.clone())).collect();
    let mut rests_on: BTreeMap<Module, BTreeSet<Module>> = read
        .iter()
        .map(|(m, (used, _))| {
            let modules = used.iter().map(|path| leads_to(path, &doors, MOST_DOORS));
            ((*m).clone(), modules.filter(|to| to != *m).collect())
        })
        .collect();
    let arrows: usize = rests_on.values().map(BTreeSet::len).sum();
    assert!(arrows > 2 * all.len(), "{arrows} imports were found");
    // Whoever rests on nothing that is left is in no circle, nor is one on which nothing left rests.
    loop {
        let left: BTreeSet<Module> = rests_on.keys().cloned().collect();
        let used: BTreeSet<Module> = rests_on.values().flatten().cloned().collect();
        rests_on.retain(|m, on| used.contains(m) && on.iter().any(|to| left.contains(to)));
        if rests_on.len() == left.len() {
            break;
        }
    }
    let lines = rests_on.iter().map(|(m, on)| {
        let on = on.iter().filter(|to| rests_on.contains_key(*to)).map(|to| to.join("/"));
        format!("{} uses {}", m.join("/"), on.collect::<Vec<_>>().join(", "))
    });
    assert!(
        rests_on.is_empty(),
        "a circle is among these:\n{}",
        lines.collect::<Vec<_>>().join("\n")
    );
    Ok(())
}
