//! The modules of a crate and the paths that stand in them, tests left out.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use proc_macro2::{Delimiter, Group, TokenStream, TokenTree};

/// A path as names: of a module from the crate's root, or as it is written.
type Names = Vec<String>;

/// What stands in the sources of a crate.
#[derive(Default)]
pub struct Sources {
    modules: BTreeMap<Names, Module>,
}

#[derive(Default)]
struct Module {
    /// Paths that begin with `crate`, `super`, `self` or `std`, and all that are
    /// imported.
    paths: Vec<Names>,
    /// Functions, each with its lines from `fn` to the brace that ends it.
    functions: Vec<(String, usize)>,
    /// What names that are imported stand for.
    imported: BTreeMap<String, Names>,
}

impl Sources {
    /// Reads the crate in a folder.
    pub fn of(folder: &Path) -> Sources {
        let src = folder.join("src");
        let mut sources = Sources::default();
        let main = ["lib.rs", "main.rs"].map(|name| src.join(name));
        let main = main.iter().find(|path| path.is_file()).expect("a crate");
        sources.read(main, &src, Vec::new());
        sources
    }

    /// All paths, each with the module it stands in.
    pub fn paths(&self) -> impl Iterator<Item = (&Names, &Names)> {
        let modules = self.modules.iter();
        modules.flat_map(|(name, module)| module.paths.iter().map(move |path| (name, path)))
    }

    /// All functions, each with its module and its lines.
    pub fn functions(&self) -> impl Iterator<Item = (String, usize)> {
        self.modules.iter().flat_map(|(module, inside)| {
            let named = |(name, lines): &(String, usize)| {
                (format!("{}::{name}", module.join("::")), *lines)
            };
            inside.functions.iter().map(named)
        })
    }

    /// Reads a module from its file, and those below it from `folder`.
    fn read(&mut self, file: &Path, folder: &Path, name: Names) {
        let text = std::fs::read_to_string(file).expect("a source");
        let tokens = text
            .parse()
            .unwrap_or_else(|fault| panic!("{}: {fault}", file.display()));
        self.modules.entry(name.clone()).or_default();
        self.go_through(tokens, folder, &name);
    }

    fn go_through(&mut self, tokens: TokenStream, folder: &Path, name: &Names) {
        let tokens: Vec<TokenTree> = tokens.into_iter().collect();
        let mut at = 0;
        while at < tokens.len() {
            match &tokens[at] {
                TokenTree::Group(group) if of_tests(group) => at = end_of_item(&tokens, at + 1),
                TokenTree::Group(group) => self.go_through(group.stream(), folder, name),
                TokenTree::Ident(word) if word == "mod" => {
                    let child = tokens[at + 1].to_string();
                    let below = [&name[..], std::slice::from_ref(&child)].concat();
                    match &tokens[at + 2] {
                        TokenTree::Group(body) => {
                            self.modules.entry(below.clone()).or_default();
                            self.go_through(body.stream(), &folder.join(&child), &below);
                        }
                        _ => {
                            let inside = folder.join(&child);
                            let files = [folder.join(format!("{child}.rs")), inside.join("mod.rs")];
                            let file = files.iter().find(|file| file.is_file());
                            self.read(file.expect("a module's file"), &inside, below);
                        }
                    }
                    at += 2;
                }
                TokenTree::Ident(word) if word == "use" => {
                    let end = end_of_item(&tokens, at);
                    self.import(&tokens[at + 1..end], Vec::new(), name);
                    at = end;
                }
                TokenTree::Ident(word) if word == "fn" => {
                    if let Some(lines) = lines_of_function(&tokens[at..]) {
                        let function = (tokens[at + 1].to_string(), lines);
                        self.module(name).functions.push(function);
                    }
                }
                TokenTree::Ident(word) if begins_path(&tokens, at, &word.to_string()) => {
                    let path = path_from(&tokens[at..]);
                    at += 3 * (path.len() - 1);
                    self.module(name).paths.push(path);
                }
                _ => {}
            }
            at += 1;
        }
    }

    /// Takes in what a `use` lists, below a prefix.
    fn import(&mut self, tree: &[TokenTree], prefix: Names, name: &Names) {
        let mut path = prefix;
        let mut alias = None;
        let mut tokens = tree.iter();
        while let Some(token) = tokens.next() {
            match token {
                TokenTree::Group(group) => {
                    let inside: Vec<TokenTree> = group.stream().into_iter().collect();
                    for tree in inside.split(|t| is_punct(t, ',')) {
                        self.import(tree, path.clone(), name);
                    }
                    return;
                }
                TokenTree::Ident(word) if word == "as" => {
                    alias = tokens.next().map(ToString::to_string);
                }
                TokenTree::Ident(word) => path.push(word.to_string()),
                _ => {}
            }
        }
        if path.last().is_some_and(|last| last == "self") && path.len() > 1 {
            path.pop();
        }
        if let Some(last) = path.last().cloned() {
            let module = self.module(name);
            module.imported.insert(alias.unwrap_or(last), path.clone());
            module.paths.push(path);
        }
    }

    fn module(&mut self, name: &Names) -> &mut Module {
        self.modules.entry(name.clone()).or_default()
    }

    /// The module in which that stands which a path names, seen from a module;
    /// `None` outside the crate.
    fn resolve(&self, from: &Names, path: &[String], steps: usize) -> Option<Names> {
        let mut here = from.clone();
        let mut rest = path;
        match path[0].as_str() {
            "crate" => (here, rest) = (Vec::new(), &path[1..]),
            "self" => rest = &path[1..],
            "super" => {
                while rest.first().is_some_and(|name| name == "super") {
                    here.pop();
                    rest = &rest[1..];
                }
            }
            first => {
                let below = [&here[..], &[first.to_owned()]].concat();
                if !self.modules.contains_key(&below) {
                    return None;
                }
            }
        }
        for (i, word) in rest.iter().enumerate() {
            let below = [&here[..], std::slice::from_ref(word)].concat();
            let imported = self.modules.get(&here).and_then(|m| m.imported.get(word));
            if self.modules.contains_key(&below) {
                here = below;
            } else if let Some(path) = imported.filter(|_| steps > 0) {
                let path = [&path[..], &rest[i + 1..]].concat();
                return self.resolve(&here, &path, steps - 1);
            } else {
                break;
            }
        }
        Some(here)
    }
}

/// The circles among the modules with the same parent, each taken with all that is
/// below it.
pub fn circles(sources: &Sources) -> Vec<String> {
    let mut uses: BTreeMap<Names, BTreeSet<Names>> = BTreeMap::new();
    for (from, path) in sources.paths() {
        let Some(to) = sources.resolve(from, path, 8) else {
            continue;
        };
        let shared = from.iter().zip(&to).take_while(|(a, b)| a == b).count();
        if shared < from.len() && shared < to.len() {
            let user = from[..=shared].to_vec();
            uses.entry(user).or_default().insert(to[..=shared].to_vec());
        }
    }
    let reached = |from: &Names| {
        let mut found = BTreeSet::new();
        let mut todo = vec![from];
        while let Some(at) = todo.pop() {
            for next in uses.get(at).into_iter().flatten() {
                if found.insert(next) {
                    todo.push(next);
                }
            }
        }
        found
    };
    let mut circles = BTreeSet::new();
    for module in uses.keys() {
        let there = reached(module);
        if there.contains(module) {
            let back = there
                .into_iter()
                .filter(|other| reached(other).contains(module));
            let names: Vec<String> = back.map(|name| name.join("::")).collect();
            circles.insert(names.join(", "));
        }
    }
    circles.into_iter().collect()
}

/// Whether a group is that of the attribute `#[cfg(test)]`.
fn of_tests(group: &Group) -> bool {
    let text = group.to_string().replace(' ', "");
    group.delimiter() == Delimiter::Bracket && text == "[cfg(test)]"
}

/// Where the item ends that goes on here: at a semicolon or its body.
fn end_of_item(tokens: &[TokenTree], from: usize) -> usize {
    let ends = |token: &TokenTree| match token {
        TokenTree::Group(body) => body.delimiter() == Delimiter::Brace,
        other => is_punct(other, ';'),
    };
    // Braces in a `use` are no body.
    let import = tokens[from..]
        .iter()
        .find(|token| !matches!(token, TokenTree::Group(_) | TokenTree::Punct(_)))
        .is_some_and(|token| matches!(token.to_string().as_str(), "use" | "pub"));
    let end = tokens[from..].iter().position(|token| match import {
        true => is_punct(token, ';') || ends(token) && !is_use(&tokens[from..]),
        false => ends(token),
    });
    end.map_or(tokens.len(), |end| from + end)
}

fn is_use(tokens: &[TokenTree]) -> bool {
    let mut words = tokens.iter().take(4).map(ToString::to_string);
    words.any(|word| word == "use")
}

fn is_punct(token: &TokenTree, mark: char) -> bool {
    matches!(token, TokenTree::Punct(punct) if punct.as_char() == mark)
}

/// Whether a path of interest begins here: it is no part of a longer one, and
/// goes on.
fn begins_path(tokens: &[TokenTree], at: usize, word: &str) -> bool {
    let first = matches!(word, "crate" | "super" | "self" | "std");
    let inside = at > 0 && is_punct(&tokens[at - 1], ':');
    first && !inside && path_from(&tokens[at..]).len() > 1
}

/// The names of the path that stands first.
fn path_from(tokens: &[TokenTree]) -> Names {
    let mut path = vec![tokens[0].to_string()];
    let mut rest = &tokens[1..];
    while let [first, second, TokenTree::Ident(word), after @ ..] = rest
        && is_punct(first, ':')
        && is_punct(second, ':')
    {
        path.push(word.to_string());
        rest = after;
    }
    path
}

/// The lines of a function, from the `fn` that the tokens begin with; `None` where it has
/// no body, or is a type.
fn lines_of_function(tokens: &[TokenTree]) -> Option<usize> {
    let ends = |t: &&TokenTree| {
        matches!(t, TokenTree::Group(g) if g.delimiter() == Delimiter::Brace) || is_punct(t, ';')
    };
    let named = matches!(tokens.get(1), Some(TokenTree::Ident(_)));
    match tokens.iter().find(ends).filter(|_| named)? {
        TokenTree::Group(body) => {
            let (from, to) = (tokens[0].span().start(), body.span_close().end());
            Some(to.line - from.line + 1)
        }
        _ => None,
    }
}
