//! What is wrong with a job is told: where it stands, what it is, what to do; by the built program and with its exit
//! status. Each case changes one thing of a job that is right.
#![allow(
    clippy::unwrap_used,
    reason = "a test stops where its surroundings fail it"
)]

use std::process::{Command, Output};

const JOB: &str = r#"title = "Pin tray"
stock = "stock.toml"

[bed]
size = [400, 300]
locating = [ { at = [20, 20], thread = "M5" } ]

[fixture]
size = [380, 280]
at = [10, 10]

[blank]
shape = { rect = [60, 40] }
thickness = 3

[grid]
pitch = [90, 70]
columns = 3
rows = 2

[[layer]]
name = "base"
material = "MDF"
thickness = 6
features = ["locating"]

[[layer]]
name = "face"
material = "acrylic"
thickness = 3
features = ["relief", "pocket"]

[cutter]
kerf = 0.2
"#;

const STOCK: &str = r#"[[sheet]]
id = "mdf"
material = "MDF"
thickness = 6
size = [600, 400]

[[sheet]]
id = "clear"
material = "acrylic"
thickness = 3
size = [600, 400]
"#;

/// A folder with a job, its stock, and whatever else a case brings.
struct Case {
    folder: tempfile::TempDir,
    job: String,
    stock: String,
}

impl Case {
    fn right() -> Self {
        Self {
            folder: tempfile::tempdir().unwrap(),
            job: JOB.to_owned(),
            stock: STOCK.to_owned(),
        }
    }

    /// The job with a part of it replaced.
    fn job(from: &str, to: &str) -> Self {
        Self::right().and(from, to)
    }

    fn and(mut self, from: &str, to: &str) -> Self {
        assert!(self.job.contains(from), "the job has no {from:?}");
        self.job = self.job.replacen(from, to, 1);
        self
    }

    /// The stock with a part of it replaced.
    fn stock(from: &str, to: &str) -> Self {
        let mut case = Self::right();
        assert!(case.stock.contains(from), "the stock has no {from:?}");
        case.stock = case.stock.replacen(from, to, 1);
        case
    }

    fn file(self, name: &str, bytes: &[u8]) -> Self {
        let path = self.folder.path().join("work").join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, bytes).unwrap();
        self
    }

    fn work(&self) -> std::path::PathBuf {
        self.folder.path().join("work")
    }

    fn run(&self, arguments: &[&str]) -> Output {
        let work = self.work();
        std::fs::create_dir_all(&work).unwrap();
        std::fs::write(work.join("job.toml"), &self.job).unwrap();
        std::fs::write(work.join("stock.toml"), &self.stock).unwrap();
        Command::new(env!("CARGO_BIN_EXE_seamwright"))
            .args(arguments)
            .current_dir(work)
            .env("NO_COLOR", "1")
            .output()
            .unwrap()
    }

    /// Checks the job and sees that it ends so, with these words, and that nothing was written.
    fn ends(&self, status: i32, words: &[&str]) {
        let done = self.run(&["check", "job.toml"]);
        assert_ends(&done, status, words);
        let planned = self.run(&["plan", "job.toml", "--rounds", "0"]);
        assert_ends(&planned, status, words);
        assert!(!self.work().join("out").exists(), "nothing is written");
    }
}

fn assert_ends(done: &Output, status: i32, words: &[&str]) {
    let text = String::from_utf8_lossy(&done.stderr);
    assert_eq!(done.status.code(), Some(status), "{text}");
    for word in words {
        assert!(text.contains(word), "{word:?} is missing in\n{text}");
    }
    assert!(!text.contains("panicked"), "{text}");
    assert!(
        done.stdout.is_empty() || status == 0,
        "talk goes to standard error"
    );
}

#[test]
fn the_job_that_the_cases_change_is_right() {
    let done = Case::right().run(&["check", "job.toml"]);
    assert_ends(&done, 0, &[]);
    assert!(String::from_utf8_lossy(&done.stdout).contains("no faults"));
}

#[test]
fn a_missing_job_a_missing_stock_file_and_a_missing_drawing_are_named() {
    let case = Case::right();
    assert_ends(
        &case.run(&["check", "nowhere.toml"]),
        2,
        &["--> nowhere.toml", "there is no such file"],
    );
    assert_ends(&case.run(&["check", "."]), 0, &[]);
    std::fs::create_dir(case.work().join("empty")).unwrap();
    assert_ends(
        &case.run(&["check", "empty"]),
        2,
        &["--> empty/job.toml", "a folder that holds one"],
    );
    Case::job("\"stock.toml\"", "\"stocks.toml\"").ends(
        2,
        &[
            "error[J001]: cannot read `stocks.toml`: there is no such file",
            "--> job.toml:2:9",
        ],
    );
    Case::job("name = \"face\"", "name = \"face\"\ndrawing = \"face.dxf\"")
        .ends(2, &["cannot read `face.dxf`", "job.toml:29:11"]);
}

#[test]
fn what_is_not_toml_is_told_by_line_and_nothing_else() {
    Case::job("[grid]", "[grid\nwrong = = 3")
        .ends(2, &["error[J010]: this is not TOML", "--> job.toml:16:"]);
    Case::stock("size = [600, 400]", "size = [600, 400")
        .ends(2, &["error[J010]", "--> stock.toml:"]);
    let case = Case::right().file("other.toml", b"a = \"\xff\"");
    assert_ends(
        &case.run(&["check", "other.toml"]),
        2,
        &["byte 5 is not UTF-8"],
    );
}

#[test]
fn twelve_faults_are_told_at_once_in_the_order_of_the_file() {
    let text = r#"title = 3
copies = -1
stock = "stock.toml"
[bed]
size = [400, -300]
datum = "front-lefd"
[fixture]
size = [380, inf]
corner_radus = 8
[grid]
pitch = ["3,5 mm", "6 feet"]
columns = 0
[[layer]]
name = "face"
thickness = 3000
features = ["pocked"]
[cutter]
kerf = true
"#;
    let mut case = Case::right();
    case.job = text.to_owned();
    let done = case.run(&["check", "job.toml"]);
    let words = [
        "error[J011]: `title` must be a text in quotes, not a whole number",
        "error[J013]: `copies` is -1; it must be at least 1",
        "error[J013]: `size` is -300 mm; it must be above 0 mm",
        "error[J015]: `datum` is \"front-lefd\"",
        "error[J013]: `size` is inf mm; it must be a finite number of mm",
        "error[J014]: unknown key `corner_radus` in [fixture]",
        "error[J012]: `pitch` is no length: decimals take a point: `3.5 mm`",
        "error[J012]: `pitch` is no length: `feet` is no unit of length",
        "error[J013]: `columns` is 0; it must be at least 1",
        "error[J016]: [[layer]] 1 has no `material`",
        "error[J013]: `thickness` is 3000 mm; it must be at most 500 mm",
        "error[J025]: layer \"face\" lists the unknown feature \"pocked\"",
        "error[J011]: `kerf` must be a length, not true or false",
    ];
    assert_ends(&done, 2, &words);
    let stderr = String::from_utf8_lossy(&done.stderr).into_owned();
    let places: Vec<usize> = words
        .iter()
        .map(|word| stderr.find(word).unwrap())
        .collect();
    assert!(
        places.is_sorted(),
        "in the order of the file: {places:?}\n{stderr}"
    );
    assert!(
        stderr.contains(&format!(
            "{} errors in 1 file; nothing was written",
            words.len()
        )),
        "{stderr}"
    );
}

#[test]
fn an_unknown_key_is_shown_with_a_caret_and_the_nearest_known_one() {
    let expected = "\
error[J014]: unknown key `pich` in [grid]
  --> job.toml:17:1
   |
17 | pich = [90, 70]
   | ^^^^ did you mean `pitch`?

1 error in 1 file; nothing was written
";
    let done = Case::job("pitch", "pich").run(&["check", "job.toml"]);
    assert_eq!(
        String::from_utf8_lossy(&done.stderr),
        expected,
        "and that `pitch` is missing is not said as well"
    );
    Case::job("pitch", "colour = 3\npitch").ends(
        2,
        &[
            "unknown key `colour` in [grid]",
            "known here: pitch, spacing, columns",
        ],
    );
    Case::job("[grid]", "[grids]").ends(
        2,
        &["unknown key `grids` in job.toml", "did you mean `grid`?"],
    );
    Case::stock("size = [600, 400]", "size = [600, 400]\nthick = 3").ends(
        2,
        &["unknown key `thick` in [[sheet]] 1", "--> stock.toml:6:1"],
    );
}

#[test]
fn sizes_that_cannot_be_are_refused_at_their_place() {
    for (size, words) in [
        ("[-380, 280]", "it must be above 0 mm"),
        ("[0, 280]", "it must be above 0 mm"),
        ("[nan, 280]", "a finite number"),
        ("[-inf, 280]", "a finite number"),
        ("[1e300, 280]", "it must be at most 1000000 mm"),
        ("[1000000.1, 280]", "it must be at most 1000000 mm"),
        ("\"380 x 280\"", "a list of two lengths"),
        ("[380]", "a list of two lengths"),
        ("[380, 280, 6]", "a list of two lengths"),
        (
            "[380, 99999999999999999999999999]",
            "it must be at most 1000000 mm",
        ),
    ] {
        let case = Case::right().and(
            "[fixture]\nsize = [380, 280]",
            &format!("[fixture]\nsize = {size}"),
        );
        let done = case.run(&["check", "job.toml"]);
        assert_eq!(done.status.code(), Some(2), "{size}");
        let text = String::from_utf8_lossy(&done.stderr);
        assert!(
            text.contains(words) || text.contains("this is not TOML"),
            "{size}: {text}"
        );
        assert!(text.contains("--> job.toml:9:"), "{size}: {text}");
    }
}

#[test]
fn stock_that_cannot_serve_is_told_apart_from_stock_that_is_wrong() {
    let mut empty = Case::right();
    empty.stock = String::from("# sold out\n");
    empty.ends(
        2,
        &[
            "error[K001]: the stock file has no [[sheet]]",
            "--> stock.toml",
        ],
    );
    Case::stock("thickness = 3", "thickness = 4").ends(3, &["acrylic", "3 mm"]);
    Case::stock(
        "material = \"acrylic\"",
        "material = \"acrylic\"\nquantity = 0",
    )
    .ends(3, &["acrylic"]);
    Case::stock("id = \"clear\"", "id = \"mdf\"").ends(
        2,
        &[
            "the sheet \"mdf\" is given twice",
            "--> stock.toml:8:6",
            "first here",
        ],
    );
    Case::stock("id = \"clear\"", "id = \"MDF\"").ends(
        2,
        &["but for upper and lower case the sheet \"MDF\" is given twice"],
    );
    for id in [
        "a/b",
        "..\\\\a",
        "",
        "a b",
        "Größe",
        "0123456789012345678901234567890123456789012345678",
    ] {
        Case::stock("\"clear\"", &format!("\"{id}\""))
            .ends(2, &["error[J024]: `id` is no name", "would be a file name"]);
    }
    Case::stock(
        "size = [600, 400]",
        "outline = [[0, 0], [10, 10], [10, 0], [0, 10]]",
    )
    .ends(2, &["error[K002]: `outline` is no outline"]);
    Case::stock("size = [600, 400]", "outline = [[0, 0], [10, 10]]")
        .ends(2, &["2 corners make no outline"]);
    Case::stock(
        "size = [600, 400]",
        "outline = [[0, 0], [10, 10], [9, 4]]\nsold_by = \"length\"",
    )
    .ends(2, &["`sold_by` has no effect here"]);
    Case::stock(
        "size = [600, 400]",
        "size = [600, 400]\ndefects = [ { circle = 2000, at = [300, 200] } ]",
    )
    .ends(2, &["leave nothing of it"]);
    Case::stock("size = [600, 400]", "size = [600, 400]\ncost = -1")
        .ends(2, &["`cost` is -1; it must be at least 0"]);
}

#[test]
fn distances_that_the_cut_would_eat_name_the_least_that_will_do() {
    Case::job("kerf = 0.2", "kerf = 3\nspacing = 2.5").ends(
        2,
        &[
            "error[J020]",
            "`spacing` is 2.5 mm",
            "`spacing = \"3 mm\"` is the least",
        ],
    );
    Case::job("kerf = 0.2", "kerf = 3\nedge_margin = 1").ends(
        2,
        &["error[J021]", "`edge_margin = \"1.5 mm\"` is the least"],
    );
    // The widest cut counts, be it one layer's own.
    Case::job("kerf = 0.2", "kerf = 0.2\nspacing = 2")
        .and("name = \"face\"", "name = \"face\"\nkerf = 2.5")
        .ends(2, &["`spacing = \"2.5 mm\"` is the least"]);
}

#[test]
fn the_width_of_the_cut_is_never_guessed() {
    Case::job("kerf = 0.2", "").ends(2, &["[cutter] has no `kerf`", "never guessed"]);
    Case::job("[cutter]\nkerf = 0.2\n", "").ends(2, &["job.toml has no `cutter`", "never guessed"]);
    Case::job("kerf = 0.2", "kind = \"router\"").ends(2, &["[cutter] has no `tool_diameter`"]);
    Case::job("kerf = 0.2", "kind = \"router\"\nkerf = 0.2").ends(
        2,
        &[
            "`kerf` belongs to a laser; this cutter is a router",
            "use `tool_diameter`",
        ],
    );
    Case::job("kerf = 0.2", "tool_diameter = 3").ends(
        2,
        &[
            "`tool_diameter` belongs to a router; this cutter is a laser",
            "use `kerf`",
        ],
    );
}

#[test]
fn files_outside_the_folder_are_not_read_unless_the_root_is_widened() {
    for path in ["../stock.toml", "/etc/passwd", "sub/../../stock.toml"] {
        let case = Case::job("\"stock.toml\"", &format!("\"{path}\""));
        std::fs::write(case.folder.path().join("stock.toml"), STOCK).unwrap();
        let done = case.run(&["check", "job.toml"]);
        assert_ends(
            &done,
            2,
            &[
                "error[J001]",
                "outside the folders that may be read",
                "--root",
            ],
        );
        assert!(
            !String::from_utf8_lossy(&done.stderr).contains("root:"),
            "nothing of it is quoted"
        );
    }
    let case = Case::job("\"stock.toml\"", "\"../stock.toml\"");
    std::fs::write(case.folder.path().join("stock.toml"), STOCK).unwrap();
    assert_ends(&case.run(&["check", "job.toml", "--root", ".."]), 0, &[]);
    Case::job("\"stock.toml\"", "'..\\stock.toml'")
        .ends(2, &["error[J002]", "separate folders by `/`"]);
    Case::job("\"stock.toml\"", "\".\"").ends(2, &["cannot read", "no regular file"]);
}

#[cfg(unix)]
#[test]
fn links_and_devices_lead_nowhere() {
    let case = Case::job("\"stock.toml\"", "\"link.toml\"").file("x", b"");
    std::fs::write(case.folder.path().join("far.toml"), STOCK).unwrap();
    std::os::unix::fs::symlink("../far.toml", case.work().join("link.toml")).unwrap();
    assert_ends(
        &case.run(&["check", "job.toml"]),
        2,
        &["outside the folders that may be read"],
    );
    let case = Case::job("\"stock.toml\"", "\"zero.toml\"").file("x", b"");
    std::os::unix::fs::symlink("/dev/zero", case.work().join("zero.toml")).unwrap();
    assert_ends(
        &case.run(&["check", "job.toml", "--root", "/"]),
        2,
        &["no regular file"],
    );
}

#[test]
fn names_are_told_twice_with_both_places() {
    Case::job("name = \"face\"", "name = \"base\"").ends(
        2,
        &[
            "error[J023]: the name \"base\" is given twice",
            "first here",
        ],
    );
    let part = "[[part]]\nname = \"face\"\nmaterial = \"acrylic\"\nthickness = 3\ndrawing = \"no.dxf\"\n[cutter]";
    Case::job("[cutter]", part).ends(
        2,
        &["among layers and parts the name \"face\" is given twice"],
    );
    Case::job("title", "copies = 2\ntitle")
        .and("name = \"face\"", "name = \"base-c2\"")
        .ends(2, &["the pieces of copy 2 of layer \"base\" are called so"]);
    Case::job("\"face\"", "\"a\\u0007b\"")
        .ends(2, &["`name` is no name: it holds a control character"]);
    Case::job("\"face\"", "\"\"").ends(2, &["`name` is no name: it is empty"]);
    Case::job("\"face\"", &format!("{:?}", "x".repeat(201)))
        .ends(2, &["201 characters; at most 200"]);
    Case::job(
        "\"relief\", \"pocket\"",
        "\"relief\", \"relief\", \"pocket\"",
    )
    .ends(2, &["the feature \"relief\" is given twice"]);
}

#[test]
fn keys_that_exclude_one_another_or_do_nothing_are_refused() {
    Case::job("pitch", "spacing = [20, 20]\npitch").ends(
        2,
        &[
            "error[J017]: [grid] has both `pitch` and `spacing`",
            "either this",
            "or this",
        ],
    );
    Case::job("[cutter]", "[search]\nseconds = 3\nrounds = 5\n[cutter]")
        .ends(2, &["[search] has both `seconds` and `rounds`"]);
    Case::job("kerf = 0.2", "kerf = 0.2\npass_through = \"x\"")
        .ends(2, &["error[J018]: `pass_through` has no effect here"]);
    Case::job("thread = \"M5\"", "thread = \"M5\", diameter = 5")
        .ends(2, &["has both `thread` and `diameter`"]);
    Case::job("thread = \"M5\"", "thread = \"M5\", slot = 3")
        .ends(2, &["`slot` has no effect here"]);
    Case::job("thread = \"M5\"", "thread = \"M5\", fit = \"loose\"").ends(
        2,
        &["`fit` is \"loose\"; it must be one of `fine`, `medium`, `coarse`"],
    );
    Case::job(
        "kerf = 0.2",
        "kerf = 0.2\n[output]\nengrave = { layer = \"cut_outer\" }",
    )
    .ends(2, &["the layer \"CUT_OUTER\" is given twice"]);
}

#[test]
fn what_is_not_yet_done_is_refused_by_its_name() {
    Case::job("kerf = 0.2", "kerf = 0.2\ncorner_relief = \"dogbone\"")
        .ends(2, &["error[J022]", "corner relief is not yet supported"]);
    Case::job("kerf = 0.2", "kerf = 0.2\ntabs = { count = 2 }")
        .ends(2, &["leaving tabs is not yet supported"]);
    Case::job("kerf = 0.2", "kerf = 0.2\nlead_in = 2").ends(2, &["a lead-in is not yet supported"]);
}

#[test]
fn fixtures_that_cannot_be_are_told_at_the_key_that_makes_them_so() {
    Case::job("rect = [60, 40]", "rect = [600, 40]").ends(2, &["--> job.toml"]);
    Case::job("columns = 3", "columns = 9").ends(2, &["9 columns", "--> job.toml:18:11"]);
    Case::job("pitch = [90, 70]", "pitch = [60, 70]").ends(2, &["--> job.toml"]);
    Case::job("rows = 2", "rows = 2\nfirst = [20, 20]").ends(2, &["--> job.toml"]);
    Case::job(
        "features = [\"relief\", \"pocket\"]",
        "features = [\"pocket\"]",
    )
    .ends(2, &["face", "--> job.toml"]);
    Case::job("\"acrylic\"", "\"PVC\"")
        .ends(2, &["PVC", "hydrogen chloride", "--> job.toml:29:12"]);
    Case::job("[fixture]\nsize = [380, 280]\nat = [10, 10]\n", "")
        .ends(2, &["[fixture] has no `size` or `drawing`"]);
    Case::job("thread = \"M5\"", "thread = \"M99\"").ends(2, &["M99", "--> job.toml:6"]);
}

#[test]
fn drawings_that_cannot_be_used_are_told_with_the_key_that_asks_for_them() {
    let drawn = |bytes: &[u8]| {
        Case::job("name = \"face\"", "name = \"face\"\ndrawing = \"face.dxf\"")
            .file("face.dxf", bytes)
    };
    let open = "0\nSECTION\n2\nENTITIES\n0\nLINE\n5\n2F\n8\nFACE\n10\n0\n20\n0\n11\n100\n21\n0\n0\nLINE\n5\n30\n8\nFACE\n10\n100\n20\n0\n11\n0\n21\n90\n0\nENDSEC\n0\nEOF\n";
    drawn(open.as_bytes()).ends(
        2,
        &["--> face.dxf", "open", "asked for here: job.toml:29:11"],
    );
    drawn(b"").ends(2, &["--> face.dxf", "asked for here: job.toml:29:11"]);
    drawn(b"%PDF-1.7\n").ends(2, &["--> face.dxf", "asked for here: job.toml:29:11"]);
}

#[test]
fn absurd_numbers_of_things_are_refused_before_memory_is_taken() {
    Case::job("columns = 3\nrows = 2", "columns = 100000\nrows = 100000")
        .ends(2, &["10000000000 pockets; at most 100000 are taken on"]);
    Case::job("title", "copies = 10000\ntitle")
        .ends(2, &["20000 pieces; at most 10000 are taken on"]);
    Case::job("[cutter]", "[search]\nlanes = 257\n[cutter]")
        .ends(2, &["`lanes` is 257; it must be at most 256"]);
    Case::job("[cutter]", "[search]\nseconds = 86400.5\n[cutter]")
        .ends(2, &["it must be at most 86400"]);
    Case::job("[cutter]", "[search]\nrounds = 1000000001\n[cutter]")
        .ends(2, &["it must be at most 1000000000"]);
    let mut long = Case::right();
    long.job += &"#".repeat(1 << 20);
    long.ends(2, &["error[J004]", "a TOML file may have 1048576"]);
    let mut deep = Case::right();
    deep.job = format!("a = {}1{}\n", "[".repeat(100_000), "]".repeat(100_000));
    deep.ends(2, &["error[J010]"]);
    deep.job = format!("{}= 1\n", "a.".repeat(200_000) + "b ");
    deep.ends(2, &["error[J010]"]);
}
