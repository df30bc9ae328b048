//! What a person at the counter reads: the short answers of `judge` and `next`, whole, as goldens in `tests/counter`; at most
//! twenty-four lines of eighty columns for the vehicles of the README. Issue "for the person at the counter".

use crate::process::command;
use rstest::rstest;

fn golden(name: &str, arguments: &[&str]) -> String {
    let output = command(arguments).output().unwrap();
    let out = String::from_utf8(output.stdout).unwrap();
    let err = String::from_utf8(output.stderr).unwrap();
    let shown = format!("$ wherefore {}\n{out}{err}exit {}\n", arguments.join(" "), output.status.code().unwrap());
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../counter");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.bind(|| insta::assert_snapshot!(name, shown));
    assert!(out.lines().all(|line| line.chars().count() <= 80), "{out}");
    out
}

/// The README's three vehicles, under the federal model program and California's.
#[rstest]
fn the_answer_comes_first_and_is_short(
    #[values("judge", "next")] order: &str,
    #[values("us-model", "us-ca")] program: &str,
    #[values("van-7", "wagon-3", "pickup-9")] vehicle: &str,
) {
    let path = format!("examples/larkspur/{vehicle}.json");
    let out = golden(&format!("{order}-{program}-{vehicle}"), &[order, "--program", program, &path]);
    let lines: Vec<&str> = out.lines().collect();
    assert!(lines.len() <= 24, "{} lines:\n{out}", lines.len());
    assert!(lines[0].contains("visit 2026-") && lines[1].contains(program), "{out}");
    let line = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(line.ends_with("The official inspection decides; it checks more than this."), "{out}");
}

/// Five transcripts: a pass that used up its allowance, a reject, an undecided for want of a look, a commanded lamp with a
/// code, a car sent to another test.
#[rstest]
#[case::allowance_used_up("transcript-1-allowance-used-up", "us-model", "examples/larkspur/van-7.json")]
#[case::reject("transcript-2-reject", "us-model", "examples/larkspur/wagon-3.json")]
#[case::want_of_a_look("transcript-3-a-look-is-missing", "us-il", "examples/larkspur/pickup-9.json")]
#[case::lamp("transcript-4-lamp-and-code", "us-ny", "tests/counter/lamp.json")]
#[case::other_test("transcript-5-another-test", "us-co", "tests/counter/old.json")]
fn five_transcripts(#[case] name: &str, #[case] program: &str, #[case] path: &str) {
    let out = golden(name, &["judge", "--program", program, path]);
    // Nothing is told twice.
    let mut sentences: Vec<&str> = out.lines().filter(|line| line.len() > 40).collect();
    let many = sentences.len();
    sentences.sort_unstable();
    sentences.dedup();
    assert_eq!(sentences.len(), many, "{out}");
}

// The long form stays, one option away, and holds what the short one leaves out.
#[test]
fn all_is_told_with_full() {
    let run = |more: &[&str]| {
        let arguments = [&["judge", "--program", "us-model", "examples/larkspur/wagon-3.json"], more].concat();
        String::from_utf8(command(&arguments).output().unwrap().stdout).unwrap()
    };
    let (short, full, trace) = (run(&[]), run(&["--full"]), run(&["--trace"]));
    for words in ["These facts alone lead to it", "40 CFR 85.2222 (c)(1)", "Exactly: ", "Option allowance"] {
        assert!(!short.contains(words) && full.contains(words), "{words}");
    }
    assert!(!full.contains("Every clause") && trace.contains("Every clause"));
}

// Pages of several vehicles or programs begin with a table of them.
#[test]
fn a_page_of_several_begins_with_a_table() {
    let of = |programs: &[&str]| {
        let arguments = [&["judge", "--format", "html", "examples/larkspur/van-7.json"], programs].concat();
        String::from_utf8(command(&arguments).output().unwrap().stdout).unwrap()
    };
    let one = of(&["--program", "us-model"]);
    let two = of(&["--program", "us-model", "--program", "us-ca"]);
    assert!(!one.contains("<table>") && one.contains("class=\"verdict\""), "{one}");
    assert!(two.find("<table>").unwrap() < two.find("class=\"verdict\"").unwrap());
    assert!(two.contains("href=\"#ruling-2\"") && two.contains("id=\"ruling-2\""));
    let full = of(&["--program", "us-model", "--full"]);
    assert!(full.contains("Every clause") && !one.contains("Every clause"));
}

// Programs by id, by the tail of one, by the name of a state, by an area. Names of several are told, never guessed.
#[rstest]
#[case::tail("pa", "note: program us-pa (")]
#[case::state("Texas", "note: program us-tx (")]
#[case::two_words("new york", "note: program us-ny (")]
#[case::area("Harris County", "note: program us-tx (")]
#[case::several("california", "`california` may be us-ca (California Smog Check) or us-ca-heavy (")]
#[case::state_of_several("utah", "`utah` may be us-ut-cache (")]
#[case::state_with_the_capital("washington dc", "note: program us-dc (")]
#[case::slip("us-tz", "there is no program `us-tz`")]
fn programs_are_found_as_people_name_them(#[case] name: &str, #[case] words: &str) {
    let output = command(&["judge", "--program", name, "examples/larkspur/van-7.json"]).output().unwrap();
    let err = String::from_utf8(output.stderr).unwrap();
    assert!(err.contains(words), "{err}");
    assert_eq!(output.status.code() == Some(2), !words.starts_with("note"), "{err}");
}

// Plain words for names; short forms of the trade; trouble codes are refused, kindly.
#[rstest]
#[case::monitor("EVAP", 0, "evaporative (monitor): watches whether fuel vapor leaks")]
#[case::practice("catalyst", 0, "This is the practice of the trade, with no published source behind it.")]
#[case::topic("permanent-codes", 0, "cannot be cleared with a scan tool")]
#[case::lamp("check engine light", 0, "lamp (topic): the malfunction lamp (MIL)")]
#[case::state("not ready", 0, "readiness (topic): readiness: how many monitors may be incomplete")]
#[case::word("rejected", 0, "reject (word): the vehicle is sent away without a result")]
#[case::two("EGR/VVT", 0, "egr-vvt (monitor)")]
#[case::fact("GVWR", 0, "vehicle.gross_weight_lb (fact): gross vehicle weight rating")]
#[case::code("P0420", 2, "is a trouble code (DTC)")]
#[case::code_of_bytes("u0100", 2, "is a trouble code (DTC)")]
#[case::slip("catalist", 2, "did you mean `catalyst`?")]
fn names_are_explained(#[case] name: &str, #[case] code: i32, #[case] words: &str) {
    let output = command(&["explain", name]).output().unwrap();
    let told = String::from_utf8([output.stdout, output.stderr].concat()).unwrap();
    let line = told.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(line.contains(words), "{told}");
    assert_eq!(output.status.code(), Some(code), "{told}");
}

// The program of the tests is built without the page for a browser: it says how to build it, and writes nothing.
#[test]
fn without_the_page_the_program_says_how_to_build_it() {
    let out = std::env::temp_dir().join(format!("wherefore-no-page-{}.html", std::process::id()));
    let (code, text) = told(&["page", "--out", out.to_str().unwrap()]);
    assert_eq!(code, Some(2), "{text}");
    assert!(text.contains("bindings/page/build") && text.contains("--cfg wherefore_page"), "{text}");
    assert!(!out.exists());
}

fn told(arguments: &[&str]) -> (Option<i32>, String) {
    let output = command(arguments).output().unwrap();
    let text = String::from_utf8([output.stdout, output.stderr].concat()).unwrap();
    (output.status.code(), text.split_whitespace().collect::<Vec<_>>().join(" "))
}

// Backwards from the visit. By hand, for the wagon under California: an evaporative monitor wants one night; the drives take
// up to 20 + 30 + 60 = 110 minutes, two days at 90 a day; two days in hand: five days. Figures are practice.
#[test]
fn a_plan_is_laid_out_backwards_from_the_visit() {
    let wagon = "examples/larkspur/wagon-3.json";
    let (code, text) = told(&["next", "--program", "us-ca", "--by", "12/20/2026", wagon]);
    assert_eq!(code, Some(1), "{text}");
    assert!(text.contains("visit 2026-12-20") && text.contains("begin on 2026-12-15, 5 days before"), "{text}");
    assert!(text.contains("1 day: a night of standing cold first (evaporative)"), "{text}");
    assert!(text.contains("Look again with a scan tool on 2026-12-18"), "{text}");
    assert!(text.contains("no published source"), "{text}");
    let (_, late) = told(&["next", "--program", "us-ca", "--by", "2026-11-27", wagon]);
    assert!(
        late.contains(
            "Too short for a visit on 2026-11-27: this usually takes 5 days, and the vehicle was read on 2026-11-25"
        ),
        "{late}"
    );
    let (_, nothing) = told(&["next", "--program", "us-model", "--by", "2026-12-20", "examples/larkspur/van-7.json"]);
    assert!(nothing.contains("No repair and no drive is planned, so there is no day to begin"), "{nothing}");
    // The wagon was read on 2026-11-25.
    let (code, before) = told(&["next", "--program", "us-ca", "--by", "2026-11-20", wagon]);
    assert!(code == Some(2) && before.contains("before the day of the snapshot, 2026-11-25"), "{before}");
    let (_, either) = told(&["next", "--program", "us-ca", "--by", "12/2/2026", wagon]);
    assert!(either.contains("note: --by 12/2/2026 is read as 2026-12-02, the month first"), "{either}");
    let (code, bad) = told(&["next", "--program", "us-ca", "--by", "soon", wagon]);
    assert!(code == Some(2) && bad.contains("--by: \"soon\" is no date"), "{bad}");
}

// After the visit: whether a result that a station recorded follows.
#[rstest]
#[case::follows("reject", "wagon-3", "It follows from the facts")]
#[case::does_not("fail", "van-7", "It does not follow from the facts as they were given: they lead to a pass")]
#[case::perhaps("fail", "pickup-9", "It may follow, by one of these; what was given does not settle it.")]
fn a_recorded_result_is_held_against_the_facts(#[case] result: &str, #[case] vehicle: &str, #[case] words: &str) {
    let path = format!("examples/larkspur/{vehicle}.json");
    let (_, text) = told(&["judge", "--program", "us-model", "--recorded", result, &path]);
    assert!(text.contains(words), "{text}");
    assert_eq!(text.contains("Ask the station"), !words.starts_with("It follows"), "{text}");
}

// Dates as people write them; today is offered, and what was taken is shown.
#[rstest]
#[case::iso("2026-11-25", "Visit on 2026-11-25.")]
#[case::month_first("11/25/2026", "Visit on 2026-11-25.")]
#[case::month_in_letters("Nov 25, 2026", "Visit on 2026-11-25.")]
#[case::day_first_in_letters("25 November 2026", "Visit on 2026-11-25.")]
#[case::dots_are_not_read("25.11.2026", "\"25.11.2026\" is no date.")]
#[case::no_such_month("25/11/2026", "\"25/11/2026\" is no date.")]
#[case::asks("?", "The law and the vehicle's age go by it")]
fn the_date_of_a_visit_is_asked_for_plainly(#[case] typed: &str, #[case] words: &str) {
    let car = r#"{"format": "wherefore-snapshot/1", "vehicle": {"model_year": 2016, "fuel": "gasoline"}}"#;
    let path = std::env::temp_dir().join(format!(
        "wherefore-undated-{}-{}.json",
        std::process::id(),
        typed.bytes().map(|byte| format!("{byte:02x}")).collect::<String>()
    ));
    std::fs::write(&path, car).unwrap();
    let typed = format!("{typed}\n2026-11-25\nstop\n");
    let arguments = ["ask", "--program", "us-il", path.to_str().unwrap()];
    let output = crate::process::run_with_input(command(&arguments), typed.as_bytes());
    std::fs::remove_file(&path).unwrap();
    let err = String::from_utf8(output.stderr).unwrap();
    assert!(err.contains(words) && err.contains("today ("), "{err}");
    assert!(err.contains("questions are usual") || err.contains("question is usual"), "{err}");
}

// What stands at Enter is so of nearly every visit or registration; what has to be looked at or read is never offered.
#[test]
fn only_papers_and_visits_are_offered_at_enter() {
    let arguments = ["ask", "--program", "us-model", "examples/larkspur/pickup-9.json"];
    let output = crate::process::run_with_input(command(&arguments), b"?\n?\n?\n?\n?\n?\n?\n?\n");
    let err = String::from_utf8(output.stderr).unwrap();
    let questions: Vec<&str> = err.split("\nQuestion ").skip(1).collect();
    assert!(!questions.is_empty(), "{err}");
    for question in questions {
        let is_looked_at = question.contains("(look)") || question.contains("(reader)");
        assert!(!(is_looked_at && question.contains("Enter for")), "{question}");
    }
}

#[rstest]
#[case::bash("bash", "complete -F")]
#[case::zsh("zsh", "#compdef wherefore")]
#[case::fish("fish", "complete -c wherefore")]
#[case::power_shell("powershell", "Register-ArgumentCompleter")]
fn shells_get_their_completions(#[case] shell: &str, #[case] words: &str) {
    let (code, text) = told(&["completions", shell]);
    assert_eq!(code, Some(0));
    assert!(text.contains(words) && text.contains("explain"), "{shell}");
}

#[test]
fn manual_pages_are_written_one_a_command() {
    let folder = std::env::temp_dir().join(format!("wherefore-man-{}", std::process::id()));
    std::fs::create_dir(&folder).unwrap();
    let out = folder.to_str().unwrap();
    let (code, text) = told(&["man", "--out", out]);
    let page = std::fs::read_to_string(folder.join("wherefore-judge.1")).unwrap();
    let again = told(&["man", "--out", out]).0;
    std::fs::remove_dir_all(&folder).unwrap();
    assert_eq!((code, again), (Some(0), Some(2)), "{text}");
    assert!(page.contains(".TH") && page.contains("recorded") && page.contains("Exit codes"), "{page}");
}

// `--program` takes a file as everywhere else; what has no page of its own is printed as one.
#[test]
fn programs_are_files_too_and_every_result_has_a_page() {
    let (code, text) = told(&["judge", "--program", "policies/us/us-il.wherefore", "examples/larkspur/van-7.json"]);
    assert!(code != Some(2) && text.contains("(us-il)"), "{text}");
    for arguments in [
        &["next", "--program", "us-model", "--format", "html", "examples/larkspur/wagon-3.json"][..],
        &["compare", "us-model", "us-model-strict", "--as-of", "2026-11-25", "--format", "html"],
        &["cases", "us-il", "--as-of", "2026-11-25", "--exercise", "2", "--format", "html"],
        &["ask", "--tree", "--program", "us-il", "--format", "html", "examples/larkspur/pickup-9.json"],
    ] {
        let (code, text) = told(arguments);
        assert!(
            code != Some(2) && text.contains("<!DOCTYPE html>") && text.ends_with("</html>"),
            "{arguments:?}: {text}"
        );
        assert!(!text.contains("http://") && !text.contains("https://"), "nothing comes from outside: {arguments:?}");
    }
}

// Short forms are taken where a person types, and named as the nearest word in documents.
#[rstest]
#[case::fuel(r#"{"vehicle": {"fuel": "gas"}}"#, "did you mean \"gasoline\"?")]
#[case::state(r#"{"monitors": {"catalyst": "not ready"}}"#, "did you mean \"incomplete\"?")]
#[case::key(r#"{"monitors": {"evap": "complete"}}"#, "did you mean \"evaporative\"?")]
#[case::part_of_a_key(r#"{"vehicle": {"year": 2014}}"#, "did you mean \"model_year\"?")]
fn the_nearest_word_is_named(#[case] document: &str, #[case] words: &str) {
    let document = document.replacen('{', r#"{"format": "wherefore-snapshot/1", "#, 1);
    let output = crate::process::run_with_input(command(&["judge", "--program", "us-il", "-"]), document.as_bytes());
    let err = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(err.contains(words), "{err}");
}

// A weight that no light vehicle has is doubted beside the verdict, before all else; 10,000 lb, up to which programs draw classes
// of their own, is not, nor is a heavy vehicle. The bound of a light-duty truck is 40 CFR 86.1803-01's.
#[rstest]
#[case::car("light-duty", 44_000, Some("Weight 44,000 lb does not fit a passenger car"))]
#[case::truck("light-truck", 10_001, Some("Weight 10,001 lb does not fit a light-duty truck"))]
#[case::own_class("light-truck", 10_000, None)]
#[case::heavy("heavy-duty", 44_000, None)]
fn a_weight_that_does_not_fit_the_class_is_doubted(
    #[case] class: &str,
    #[case] pounds: i64,
    #[case] says: Option<&str>,
) {
    let document = format!(
        r#"{{"format": "wherefore-snapshot/1", "visit": {{"date": "2026-11-25"}}, "vehicle": {{"model_year": 2011, "fuel": "gasoline", "class": "{class}", "gross_weight_lb": {pounds}}}}}"#
    );
    let output = crate::process::run_with_input(command(&["judge", "--program", "us-il", "-"]), document.as_bytes());
    let out = String::from_utf8(output.stdout).unwrap();
    let flat = out.split_whitespace().collect::<Vec<_>>().join(" ");
    match says {
        Some(says) => assert!(flat.contains(&format!("Not sure: {says}")), "{out}"),
        None => assert!(!flat.contains("does not fit"), "{out}"),
    }
}

// A recorded result is told alike as text, as JSON and on the page, and a recorded ruling with it replays. That it follows
// surely, perhaps or not is counted by hand: of the wagon every outcome is reject, of the pickup pass, reject and fail are open.
#[rstest]
#[case::follows("reject", "wagon-3", "surely")]
#[case::does_not("pass", "wagon-3", "no")]
#[case::perhaps("fail", "pickup-9", "perhaps")]
fn a_recorded_result_is_told_in_every_form(#[case] result: &str, #[case] vehicle: &str, #[case] follows: &str) {
    let path = format!("examples/larkspur/{vehicle}.json");
    let run = |format: &str| {
        let arguments = ["judge", "--program", "us-model", "--recorded", result, "--format", format, &path];
        String::from_utf8(command(&arguments).output().unwrap().stdout).unwrap()
    };
    let (line, html) = (run("json"), run("html"));
    let (_, text) = told(&["judge", "--program", "us-model", "--recorded", result, &path]);
    let value: serde_json::Value = serde_json::from_str(&line).unwrap();
    let recorded = &value["recorded"];
    assert_eq!((recorded["class"].as_str(), recorded["follows"].as_str()), (Some(result), Some(follows)), "{recorded}");
    let sentences = |key: &str| recorded[key].as_array().unwrap().iter().map(|it| it.as_str().unwrap().to_owned());
    let all: Vec<String> =
        sentences("by").chain(sentences("ask")).chain([recorded["says"].as_str().unwrap().to_owned()]).collect();
    assert_eq!(sentences("ask").count() == 0, follows == "surely", "{recorded}");
    let plain = html.replace("&#x2f;", "/").replace("&#x27;", "'").replace("&quot;", "\"");
    for sentence in all {
        assert!(text.contains(&sentence) && plain.contains(&sentence), "{sentence}\n{text}\n{plain}");
    }
    assert!(html.contains("What the station recorded"));
    // Without one told, nothing is said of it, and the ruling is the same but for its digest.
    let without = command(&["judge", "--program", "us-model", "--format", "json", &path]).output().unwrap().stdout;
    let mut without: serde_json::Value = serde_json::from_slice(&without).unwrap();
    let mut with = value.clone();
    with.as_object_mut().unwrap().remove("recorded");
    for value in [&mut without, &mut with] {
        value["digest"].as_object_mut().unwrap().remove("record");
    }
    assert_eq!(with, without);
    let replayed = crate::process::run_with_input(command(&["replay", "-"]), line.as_bytes());
    assert_eq!(replayed.status.code(), Some(0), "{}", String::from_utf8_lossy(&replayed.stdout));
    // Changed to another result and sealed anew, it is told what that would have come to.
    let other = line.replace(&format!("\"follows\":\"{follows}\""), "\"follows\":\"x\"");
    let replayed = crate::process::run_with_input(command(&["replay", "-"]), other.as_bytes());
    let out = String::from_utf8(replayed.stdout).unwrap();
    assert!(replayed.status.code() == Some(1) && out.contains("recorded.follows"), "{out}");
}

// Every class has one sentence, and every kind of headline one state: the tables of docs/plan.md against the code.
#[test]
fn one_verdict_in_every_form() {
    use wherefore::internals::{program::Class, record::plan_form, ruling::HeadlineKind, wording::words};
    let page = std::fs::read_to_string(format!("{}/docs/plan.md", env!("CARGO_MANIFEST_DIR"))).unwrap();
    let part = page.split("## One verdict in every form").nth(1).unwrap().split("\n## ").next().unwrap();
    let rows: Vec<Vec<&str>> = part
        .lines()
        .filter(|line| line.starts_with("| `") && !line.contains("`class` |") && !line.contains("`kind` |"))
        .map(|line| line.trim_matches('|').split('|').map(|cell| cell.trim().trim_matches('`')).collect())
        .collect();
    let (classes, kinds): (Vec<_>, Vec<_>) = rows.into_iter().partition(|row| row.len() == 3);
    let wanted: Vec<Vec<&str>> = Class::ALL
        .iter()
        .map(|class| vec![class.word(), words::class_sentence(*class), words::result(*class)])
        .collect();
    let sorted = |mut rows: Vec<Vec<&'static str>>| {
        rows.sort_unstable();
        rows
    };
    let own = |rows: Vec<Vec<&str>>| -> Vec<Vec<&'static str>> {
        rows.into_iter().map(|row| row.into_iter().map(|it| &*it.to_owned().leak()).collect()).collect()
    };
    assert_eq!(sorted(own(classes)), sorted(wanted));
    let wanted = HeadlineKind::ALL.map(|(kind, word)| vec![word, plan_form::state_of(kind)]).to_vec();
    assert_eq!(sorted(own(kinds)), sorted(wanted));
}

// The day of a visit is asked for in the same forms everywhere, and is never mixed up with the date of the law.
#[rstest]
#[case::as_people_write(&["judge", "--as-of", "11/25/2026"], None)]
#[case::no_date(&["judge", "--as-of", "soon"], Some("--as-of: \"soon\" is no date"))]
#[case::not_that_date(&["judge", "--date", "2026-11-25"], Some("the date of the visit stands in the snapshot"))]
#[case::all_is_for_judge(&["next", "--program", "all"], Some("`judge` takes `--program all`"))]
#[case::no_program_file(&["judge", "--program", "README.md"], Some("README.md: is there, but is no program file"))]
#[case::a_folder(&["judge", "--program", "policies/us"], Some("--rules takes a folder"))]
fn the_same_is_given_the_same_way(#[case] arguments: &[&str], #[case] refused: Option<&str>) {
    let program: &[&str] = if arguments.contains(&"--program") { &[] } else { &["--program", "us-model"] };
    let (code, text) = told(&[arguments, program, &["examples/larkspur/van-7.json"]].concat());
    match refused {
        Some(words) => assert!(code == Some(2) && text.contains(words), "{text}"),
        None => {
            let wanted =
                told(&["judge", "--program", "us-model", "--as-of", "2026-11-25", "examples/larkspur/van-7.json"]);
            assert_eq!((code, text), wanted);
        }
    }
}

// A tree of questions goes to the file of --out, as the results of every command do.
#[test]
fn a_tree_is_written_to_a_file() {
    let out = std::env::temp_dir().join(format!("wherefore-tree-{}.svg", std::process::id()));
    let path = out.to_str().unwrap();
    let ask = ["ask", "--program", "us-il", "--format", "svg", "--out", path, "examples/larkspur/pickup-9.json"];
    let (code, text) = told(&ask);
    let written = std::fs::read_to_string(&out);
    let again = told(&ask);
    std::fs::remove_file(&out).unwrap();
    assert!(code == Some(3) && text.contains("The results are in"), "{text}");
    assert!(written.unwrap().starts_with("<svg"));
    assert!(again.0 == Some(2) && again.1.contains("give --force"), "{}", again.1);
}

// The days backwards from a visit stand on the page too.
#[test]
fn a_plan_in_days_has_a_page() {
    let plan = |format: &str| {
        let arguments =
            ["next", "--program", "us-ca", "--by", "2026-12-20", "--format", format, "examples/larkspur/wagon-3.json"];
        told(&arguments).1
    };
    let (text, html, json) = (plan("text"), plan("html"), plan("json"));
    for words in ["begin on 2026-12-15, 5 days before", "1 day: a night of standing cold first (evaporative)"] {
        assert!(text.contains(words) && html.contains(words), "{html}");
    }
    assert!(json.contains("\"begin\":\"2026-12-15\""), "{json}");
}
