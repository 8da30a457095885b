//! `names`: what a shell offers where a name is typed; the completion scripts that ask for it.

use std::path::{Path, PathBuf};

use clap::{Args, Command as Clap};
use clap_complete::Shell;

use crate::app::bench_names::{NameKind, bench_names};
use crate::cli::bench;
use crate::cli::outcome::Outcome;
use crate::files::Diagnostic;

/// What stands on the command line before the word that is completed.
#[derive(Debug, Args)]
pub(super) struct NamesOptions {
    /// The words, without the name of the program.
    #[arg(trailing_var_arg = true, allow_hyphen_values = true)]
    words: Vec<String>,
}

/// The names that fit behind the words, one a line; nothing where there is no bench. `program` has all commands
/// with their options.
pub(super) fn run(program: &Clap, named: Option<&Path>, options: &NamesOptions) -> String {
    let words: Vec<&str> = options.words.iter().map(String::as_str).collect();
    let Some(kind) = kind_after(program, &words) else { return String::new() };
    let behind = words.iter().position(|word| *word == "--bench");
    let typed = behind.and_then(|at| words.get(at + 1)).map(PathBuf::from);
    let Ok(bench) = bench::open(typed.as_deref().or(named)) else { return String::new() };
    bench_names(&bench, kind).iter().fold(String::new(), |out, name| out + name + "\n")
}

/// What is to be named behind some words: the value of an option, or what the command is about.
fn kind_after(program: &Clap, words: &[&str]) -> Option<NameKind> {
    let mut command = program;
    let mut path: Vec<&str> = Vec::new();
    let mut option = None;
    for word in words {
        if let Some(known) = option.take() {
            // The value of an option.
            let _: &str = known;
        } else if let Some(long) = word.strip_prefix("--") {
            option = takes_a_value(command, long).then_some(long);
        } else if let Some(sub) = command.find_subcommand(word) {
            command = sub;
            path.push(word);
        }
    }
    if let Some(long) = option {
        return match long {
            "water" | "pair" | "duplicate" | "nearest-to" | "warm-up" => Some(NameKind::Targets),
            "reference" | "near" => Some(NameKind::Waters),
            "dispenser" => Some(NameKind::Dispensers),
            "with" | "without" | "left" => Some(NameKind::Stocks),
            "flight" => Some(NameKind::Flights),
            _ => None,
        };
    }
    match path.as_slice() {
        ["stock" | "weigh" | "weighed" | "verify" | "bottle"] => Some(NameKind::Stocks),
        ["mix" | "poured"] => Some(NameKind::FlightsOrWaters),
        ["advise" | "next" | "export"] | ["session", "plan"] => Some(NameKind::Flights),
        ["undo" | "serve"] | ["session", _] => Some(NameKind::Sessions),
        ["water" | "read" | "why" | "alternatives" | "ladder" | "batch" | "concentrate"] => {
            Some(NameKind::Waters)
        }
        ["targets"] => Some(NameKind::ReadyTargets),
        _ => None,
    }
}

fn takes_a_value(command: &Clap, long: &str) -> bool {
    if long == "bench" {
        return true;
    }
    let found = command.get_arguments().find(|argument| argument.get_long() == Some(long));
    found.is_some_and(|argument| argument.get_action().takes_values())
}

/// The completion script of a shell, with the names of the bench where a name is typed.
pub(super) fn script(program: &mut Clap, shell: Shell, json: bool) -> Outcome {
    if json {
        let what = "a script for a shell is no JSON document";
        return Err(Diagnostic::choice(what).remedy("leave `--json` out").into());
    }
    let mut script = Vec::new();
    clap_complete::generate(shell, program, "waterflight", &mut script);
    let script = String::from_utf8_lossy(&script).into_owned();
    Ok(match shell {
        Shell::Bash => script + BASH,
        Shell::Fish => script + FISH,
        // What clap leaves to the shell's own default is a name, or the value of an option.
        Shell::Zsh => {
            let mut script = script.replace(":_default", ":_waterflight_names");
            match script.split_once('\n') {
                // The first line says whose script this is.
                Some((first, rest)) => script = format!("{first}\n{ZSH}{rest}"),
                None => script.push_str(ZSH),
            }
            script
        }
        _ => script,
    })
}

/// Names with blanks are escaped, unless a quote is open.
const BASH: &str = r#"
_waterflight_with_names() {
    _waterflight "$@"
    local cur="${COMP_WORDS[COMP_CWORD]}"
    [[ "$cur" == -* ]] && return
    local quote="" typed="$cur" name
    case "$cur" in
        \"* | \'*)
            quote="${cur:0:1}"
            typed="${cur:1}"
            ;;
        *) typed="${cur//\\/}" ;;
    esac
    local -a kept=() names=()
    while IFS= read -r name; do
        names+=("$name")
    done < <(waterflight names -- "${COMP_WORDS[@]:1:COMP_CWORD-1}" 2>/dev/null)
    if ((${#names[@]})); then
        # Where a name belongs no file does.
        for name in "${COMPREPLY[@]}"; do [[ "$name" == -* ]] && kept+=("$name"); done
        COMPREPLY=("${kept[@]}")
    fi
    for name in "${names[@]}"; do
        if [[ "$name" == "$typed"* ]]; then
            if [[ -n "$quote" ]]; then
                COMPREPLY+=("$name")
            else
                COMPREPLY+=("$(printf '%q' "$name")")
            fi
        fi
    done
}
complete -F _waterflight_with_names -o nosort -o bashdefault -o default waterflight
"#;

/// Where there are names, no file belongs.
const FISH: &str = r"
complete -c waterflight -n 'count (waterflight names -- (commandline -opc)[2..-1] 2>/dev/null) >/dev/null' -f -k -a '(waterflight names -- (commandline -opc)[2..-1] 2>/dev/null)'
";

const ZSH: &str = r#"
_waterflight_names() {
    local -a names
    names=("${(@f)$(waterflight names -- "${(@Q)words[2,CURRENT-1]}" 2>/dev/null)}")
    [[ -n "$names[1]" ]] && compadd -a names || _default
}
"#;

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    use super::*;
    use crate::cli::arguments::Arguments;

    #[test]
    fn what_a_command_is_about_is_offered() {
        let program = Arguments::command();
        for (words, kind) in [
            (&["weigh"][..], Some(NameKind::Stocks)),
            (&["--bench", "home", "mix"], Some(NameKind::FlightsOrWaters)),
            (&["mix", "--full"], Some(NameKind::FlightsOrWaters)),
            (&["mix", "--dispenser"], Some(NameKind::Dispensers)),
            (&["mix", "--bottle"], None),
            (&["poured", "first-flight", "--water"], Some(NameKind::Targets)),
            (&["session", "plan"], Some(NameKind::Flights)),
            (&["session", "plan", "--tasters"], None),
            (&["session", "sheet"], Some(NameKind::Sessions)),
            (&["session"], None),
            (&["batch"], Some(NameKind::Waters)),
            (&["targets"], Some(NameKind::ReadyTargets)),
            (&["sources"], None),
            (&[], None),
        ] {
            assert_eq!(kind_after(&program, words), kind, "{words:?}");
        }
    }
}
