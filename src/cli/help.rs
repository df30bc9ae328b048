//! What `--help` says besides the options: the commands in groups, an example of each, and what their exit codes mean.

/// The help of the program: the commands by what a person wants. A test holds that every command stands here.
pub(super) const WHOLE: &str = "\
{about-with-newline}
{usage-heading} {usage}

A vehicle:
  judge        Will it pass here? The answer, why, what to do, what is unsure
  next         The least that leads to a pass, in order; with --by DATE in days
  ask          The questions that settle it, one by one, or as a tree
  decode       Messages that a reader recorded, as a snapshot to judge
  explain      A monitor, a topic or a fact in plain words
  page         All of this in a browser: one HTML file, no network

Programs:
  programs     The programs there are
  compare      Two programs, or two versions: proof that they are equal, or what differs
  cases        Test vectors, or a worksheet for trainees
  facts        The vocabulary, and the JSON Schemas

Many records:
  audit        Files of records: judged, compared with recorded results, summed up
  replay       Verify recorded rulings

Writing programs:
  new          Start a program file, with comments on what to fill in
  check        Errors, warnings, worked cases, exact analysis
  fmt          The canonical form
  lsp          Serve an editor

This program:
  completions  Completions for a shell
  man          Manual pages
  help         The help of a command

Options:
{options}

Example:
  wherefore judge --program us-model car.json
";

/// The example and the exit codes of each command.
pub(super) const AFTER: [(&str, &str); 18] = [
    ("programs", "Example:\n  wherefore programs\n\nExit codes: 0 listed, 2 a file could not be used."),
    (
        "judge",
        "Example:\n  wherefore judge --program texas car.json\n  wherefore judge --program all car.json\n  \
         wherefore judge --program texas --recorded fail car.json\n\nExit codes: 0 all pass, 1 some do not, 2 something \
         could not be used, 3 more than one outcome is possible.",
    ),
    (
        "cases",
        "Example:\n  wherefore cases --program us-il --as-of 2026-11-25 --exercise 8 --seed 1\n\nExit codes: 0 all changes are caught, \
         1 some are not, 2 the program could not be used.",
    ),
    (
        "replay",
        "Example:\n  wherefore judge --program us-il --format json car.json > ruling.json && wherefore replay \
         ruling.json\n\nExit codes: 0 all as recorded, 1 some differ, 2 something could not be used.",
    ),
    (
        "next",
        "Example:\n  wherefore next --program us-ca car.json\n  wherefore next --program us-ca --by 2026-12-20 \
         car.json\n\nExit codes: 0 no step is needed, 1 steps are needed, or none helps, 2 something could not be used, 3 the \
         plan depends on facts that are not known.",
    ),
    (
        "ask",
        "Example:\n  wherefore ask --program pa --out car.json\n\nExit codes: as `judge`; with --tree 0 where no question is \
         open, 3 where one is.",
    ),
    (
        "decode",
        "Example:\n  wherefore decode capture.log --model-year 2018 --fuel gas > car.json\n\nExit codes: 0 a snapshot was \
         made, 2 the messages could not be used.",
    ),
    (
        "check",
        "Example:\n  wherefore check policies/us/us-il.wherefore\n\nExit codes: 0 clean, 1 warnings or failed cases, 2 a file \
         could not be used.",
    ),
    (
        "compare",
        "Example:\n  wherefore compare us-ca@2025-09-30 us-ca@2025-10-01\n\nExit codes: 0 proven equal, 1 they differ, 2 one \
         could not be used.",
    ),
    (
        "audit",
        "Example:\n  wherefore audit --mapping tests.toml --program us-tx tests.csv\n\nExit codes: 0 all agree, 1 records \
         differ or are set aside, 2 something could not be used.",
    ),
    (
        "fmt",
        "Example:\n  wherefore fmt --check policies\n\nExit codes: 0 canonical or made so, 1 files differ (--check), 2 a file \
         could not be used.",
    ),
    ("new", "Example:\n  wherefore new us-tx\n\nExit codes: 0 written, 2 not."),
    ("lsp", "Example:\n  wherefore lsp --stdio\n\nExit codes: 0 ended by the editor, 2 otherwise."),
    (
        "facts",
        "Example:\n  wherefore facts --format schema > snapshot.schema.json\n\nExit codes: 0 printed, 2 the file of --out could not be written.",
    ),
    ("explain", "Example:\n  wherefore explain evap\n\nExit codes: 0 explained, 2 there is no such name."),
    (
        "page",
        "Example:\n  wherefore page --out wherefore.html\n\nExit codes: 0 written, 2 not, or this program was built without the \
         page.",
    ),
    (
        "completions",
        "Example:\n  wherefore completions bash > ~/.local/share/bash-completion/completions/wherefore\n\nExit codes: 0 \
         written, 2 not.",
    ),
    ("man", "Example:\n  wherefore man --out ~/.local/share/man/man1\n\nExit codes: 0 written, 2 not."),
];

/// The command as it is typed, with what this page adds to its help.
pub(super) fn command() -> clap::Command {
    let whole = <super::args::Cli as clap::CommandFactory>::command().help_template(WHOLE);
    AFTER.into_iter().fold(whole, |whole, (name, after)| match whole.find_subcommand(name) {
        // A build without files of records has no `audit`.
        None => whole,
        Some(_) => whole.mut_subcommand(name, |one| one.after_help(after)),
    })
}

#[cfg(test)]
mod tests {
    use super::{AFTER, WHOLE, command};

    #[test]
    fn every_command_stands_in_a_group_and_has_an_example_and_exit_codes() {
        command().debug_assert();
        for one in command().get_subcommands().filter(|one| one.get_name() != "help") {
            let name = one.get_name();
            assert!(WHOLE.contains(&format!("\n  {name:<13}")), "{name}");
            let after = AFTER.iter().find(|(known, _)| *known == name).map_or("", |(_, after)| after);
            assert!(after.contains(&format!("wherefore {name}")) && after.contains("Exit code"), "{name}");
        }
    }
}
