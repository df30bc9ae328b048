//! Worksheets and quizzes: levels, answers that the command line gives too, slips that lead elsewhere, a page to print.

use rstest::rstest;

fn told(arguments: &[&str]) -> (i32, String) {
    let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_wherefore"));
    let output = command.args(arguments).current_dir(env!("CARGO_MANIFEST_DIR")).env_clear().output().unwrap();
    (output.status.code().unwrap(), String::from_utf8([output.stdout, output.stderr].concat()).unwrap())
}

/// Every level draws vehicles of that level alone, the answer that the file gives, and slips that lead elsewhere.
#[rstest]
#[case::one_rule("one-rule")]
#[case::limits("limits")]
#[case::history("history")]
#[case::unknowns("unknowns")]
fn worksheets_have_levels(#[case] level: &str) {
    let asked = ["cases", "us-il", "--as-of", "2026-11-25", "--exercise", "4", "--level", level, "--format", "json"];
    let (exit, text) = told(&asked);
    assert_eq!(exit, 0, "{text}");
    let quiz: serde_json::Value = serde_json::from_str(&text).unwrap();
    let questions = quiz["questions"].as_array().unwrap();
    assert!(!questions.is_empty(), "{text}");
    for question in questions {
        assert_eq!(question["level"], level);
        let outcomes = question["answer"]["outcomes"].as_array().unwrap();
        assert_eq!(outcomes.len() > 1, level == "unknowns", "{question}");
        assert_eq!(question["answer"]["ask"].as_array().unwrap().is_empty(), level != "unknowns", "{question}");
        let right: Vec<&str> = outcomes.iter().map(|it| it.as_str().unwrap()).collect();
        for mistake in question["mistakes"].as_array().unwrap() {
            let (to, text) = (mistake["leads_to"].as_str().unwrap(), mistake["text"].as_str().unwrap());
            assert_ne!(to, right.join(" or "), "{question}");
            assert!(text.starts_with("Whoever ") && text.ends_with(&format!(" gets *{to}*.")), "{text}");
        }
    }
    assert_eq!(told(&asked).1, text, "the same seed, the same quiz");
}

/// What a quiz calls the answer is what the command line rules on the quiz's own snapshot, with its readings.
#[test]
fn a_quiz_can_be_judged_and_meets_its_schema() {
    let (exit, text) =
        told(&["cases", "us-il", "--as-of", "2026-11-25", "--exercise", "12", "--seed", "5", "--format", "json"]);
    assert_eq!(exit, 0, "{text}");
    let quiz: serde_json::Value = serde_json::from_str(&text).unwrap();
    let (_, schema) = told(&["facts", "--format", "quiz-schema"]);
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/grammar/schema/wherefore-quiz-1.json");
    if std::env::var_os("WHEREFORE_BLESS").is_some() {
        std::fs::write(path, &schema).unwrap();
    }
    assert_eq!(schema, std::fs::read_to_string(path).unwrap(), "WHEREFORE_BLESS=1 writes it anew");
    let (mut schemas, mut compiler) = (boon::Schemas::new(), boon::Compiler::new());
    compiler.add_resource("quiz.json", serde_json::from_str(&schema).unwrap()).unwrap();
    let place = compiler.compile("quiz.json", &mut schemas).unwrap();
    schemas.validate(&quiz, place).unwrap_or_else(|error| panic!("{error}"));
    let broken = serde_json::json!({"format": "wherefore-quiz/1"});
    assert!(schemas.validate(&broken, place).is_err());
    let folder = std::env::temp_dir().join(format!("wherefore-quiz-{}", std::process::id()));
    std::fs::create_dir(&folder).unwrap();
    let mut slips = 0;
    for question in quiz["questions"].as_array().unwrap() {
        let file = folder.join("vehicle.json");
        std::fs::write(&file, question["snapshot"].to_string()).unwrap();
        let mut arguments = vec!["judge".to_owned(), "--program".to_owned(), "us-il".to_owned()];
        for (name, reading) in question["takes"].as_object().unwrap() {
            arguments.extend(["--take".to_owned(), format!("{name}={}", reading.as_str().unwrap())]);
        }
        arguments.extend(["--as-of", "2026-11-25", "--format", "json", file.to_str().unwrap()].map(str::to_owned));
        let (_, ruled) = told(&arguments.iter().map(String::as_str).collect::<Vec<_>>());
        let ruling: serde_json::Value =
            serde_json::from_str(ruled.lines().next().unwrap()).unwrap_or_else(|_| panic!("{ruled}"));
        assert_eq!(ruling["possible"], question["answer"]["outcomes"], "{question}");
        slips += question["mistakes"].as_array().unwrap().len();
    }
    std::fs::remove_dir_all(&folder).unwrap();
    assert!(slips >= 8, "few slips are told: {slips}");
}

/// The page to print holds what the text holds, and the key begins a page of its own.
#[test]
fn a_worksheet_is_a_page_to_print() {
    let asked = ["cases", "us-il", "--as-of", "2026-11-25", "--exercise", "6", "--format"];
    let (exit, page) = told(&[&asked[..], &["html"]].concat());
    assert_eq!(exit, 0, "{page}");
    let (_, text) = told(&[&asked[..], &["text"]].concat());
    let units =
        text.lines().filter_map(|line| line.split_once(". Unit ")).map(|(_, rest)| rest.split(' ').next().unwrap());
    let units: Vec<&str> = units.collect();
    assert_eq!(units.len(), 6, "{text}");
    assert!(units.iter().all(|unit| page.contains(&format!("Unit {unit}"))), "{page}");
    assert!(page.contains("Larkspur") && page.contains("class=\"key\"") && page.contains("carbon monoxide"), "{page}");
}
