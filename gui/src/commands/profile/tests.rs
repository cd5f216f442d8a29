use serde_json::Value;

use super::*;
use crate::args::{Cli, Command};
use clap::Parser as _;

/// Exit status, output, and what was told.
fn command(words: &[&str], input: &str) -> (Exit, String, String) {
    let line = ["legraise", "profile"].iter().chain(words);
    let Some(Command::Profile(args)) = Cli::try_parse_from(line).unwrap().command else {
        panic!("another command");
    };
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let done = match &args.command {
        ProfileCommand::Decode(args) => decode(args, &mut input.as_bytes(), &mut out, &mut err),
        _ => run(&args, &mut out, &mut err),
    };
    let exit = done.unwrap_or_else(|e| {
        writeln!(err, "{e}").unwrap();
        e.exit()
    });
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (exit, text(out), text(err))
}

/// The worked example of docs/gatt-profile.md: what is read, then one packet.
const OPEN: &str = "
tick_hz: 01 01 c8 00 00 80 00 00 0a e8 9c 3a 58 a0 8b 39 01 02 04 00   # Info
@0.25 2a | 42 | ff ff | 00 80 01 00 | 00 10 00 f8 00 1c 00 00 ae 07 7d ff | 00 10 00 f8 00 1a 42 00 00 80 7d ff
";

#[test]
fn what_is_shipped_can_be_listed_shown_and_checked() {
    let (exit, out, err) = command(&["list"], "");
    assert_eq!((exit, err.as_str()), (Exit::Done, ""));
    assert!(out.starts_with("open-motion"), "{out}");
    assert!(out.lines().all(|line| line.chars().count() <= 100), "{out}");
    let (_, json, _) = command(&["list", "--json"], "");
    let json: Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json["profiles"][0]["choices_hz"][3], 200.0);
    for line in out.lines() {
        let name = line.split(' ').next().unwrap();
        let (exit, text, _) = command(&["show", name], "");
        assert_eq!(exit, Exit::Done);
        assert!(text.contains("schema = \"legraise/sensor-profile/1\""));
        let (exit, summary, err) = command(&["check", name], "");
        assert_eq!((exit, err.as_str()), (Exit::Done, ""));
        assert!(summary.starts_with(&format!("{name}: can be used\n")));
    }
}

#[test]
fn a_mistake_is_told_with_line_and_mend() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("mine.toml");
    let path_text = path.to_str().unwrap();
    let text = shipped_text("example-notify").unwrap();
    std::fs::write(&path, text.replace("length = 15", "lenght = 15")).unwrap();
    let (exit, out, err) = command(&["check", path_text], "");
    assert_eq!((exit, out.as_str()), (Exit::Incomplete, ""));
    assert!(
        err.starts_with("mine.toml:") && err.contains("unknown field `lenght`"),
        "{err}"
    );
    assert!(
        err.ends_with("; remove it or correct its spelling\n"),
        "{err}"
    );
    std::fs::write(&path, [0xff, 0xfe]).unwrap();
    assert_eq!(command(&["check", path_text], "").0, Exit::Incomplete);
    let folder = folder.path().to_str().unwrap();
    assert_eq!(command(&["check", folder], "").0, Exit::Incomplete);
    for words in [["check", "nothing-here"], ["show", "nothing-here"]] {
        let (exit, _, err) = command(&words, "");
        assert_eq!(exit, Exit::Usage);
        assert!(
            err.starts_with("nothing-here: no such file") && err.contains("; "),
            "{err}"
        );
    }
}

#[test]
fn packets_become_a_table() {
    let (exit, out, err) = command(&["decode", "open-motion", "--rate", "200", "-"], OPEN);
    assert_eq!(exit, Exit::Done, "{err}");
    let expected =
        "  sequence        ticks    acc x    acc y    acc z   |acc|    gyro x    gyro y    gyro z
                             m/s²     m/s²     m/s²       g       °/s       °/s       °/s
     65535        98304   4.9033  -2.4517   8.5808  1.0383    0.0000   29.9988   -1.9989
     65536        98468   4.9033  -2.4517   7.9679  0.9862    1.0071 -500.0000   -1.9989 !
packets 1, samples 2, missing 0, left out 0
";
    assert_eq!(out, expected);
    assert_eq!(err, "packet 3: the sensor says a value is at full scale\n");
}

#[test]
fn packets_become_json() {
    let (exit, out, _) = command(&["decode", "open-motion", "--json", "-"], OPEN);
    assert_eq!(exit, Exit::Done);
    let json: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(json["schema"], "legraise/decoded/1");
    assert_eq!(json["samples"][1]["sequence"], 65536);
    assert_eq!(json["samples"][1]["full_scale"], true);
    assert_eq!(json["samples"][0]["arrival_s"], 0.25);
    assert_eq!(json["samples"][0]["battery_percent"], Value::Null);
    assert_eq!(json["messages"][0]["left_out"], false);
}

#[test]
fn sources_and_ways_to_write_bytes() {
    let halves = [
        "acc: a00f-0010,00e0 0x00 38",
        "@1 gyro: a2 0f 48 01 71 fd d7 03",
    ];
    let (exit, out, err) = command(&["decode", "example-two", halves[0], halves[1]], "");
    assert_eq!((exit, err.as_str()), (Exit::Done, ""));
    assert!(out.contains("packets 2, samples 1"), "{out}");
    // Without quotes it is one packet all the same.
    let words = "decode example-notify fe 00 08 00 f0 00 1c 8f 02 e1 fa ae 07 63 14";
    let words: Vec<&str> = words.split(' ').collect();
    let (exit, out, _) = command(&words, "");
    assert_eq!(exit, Exit::Done);
    assert!(out.contains("packets 1, samples 1"), "{out}");
}

#[test]
fn what_cannot_be_decoded_is_told() {
    let (exit, out, err) = command(&["decode", "example-notify", "fe 00 08"], "");
    assert_eq!(exit, Exit::Incomplete);
    assert!(out.contains("left out 1"), "{out}");
    assert_eq!(
        err,
        "packet 1: 3 bytes, expected 15; check `length`, `samples` and, over the air, the MTU\n"
    );
    let table = [
        (
            "decode example-notify zz",
            "packet 1: \"zz\", expected bytes",
        ),
        ("decode example-notify fe0", "packet 1: \"fe0\""),
        (
            "decode example-two 00",
            "packet 1: no source, expected one of acc, gyro",
        ),
        (
            "decode example-two mag:00",
            "packet 1: source \"mag\", expected",
        ),
        (
            "decode example-notify @x",
            "packet 1: \"@x\", expected @ and seconds",
        ),
        (
            "decode example-notify -",
            "no packets, expected at least one",
        ),
        (
            "decode example-notify 00 --rate 0",
            "--rate: 0 Hz, expected 1 to 8000",
        ),
    ];
    for (line, told) in table {
        let words: Vec<&str> = line.split(' ').collect();
        let (exit, out, err) = command(&words, "\n# nothing\n");
        assert_eq!((exit, out.as_str()), (Exit::Usage, ""), "{line}");
        assert!(err.starts_with(told) && err.contains("; "), "{line}: {err}");
    }
    let (exit, _, err) = command(&["decode", "open-motion", "acc_lsb: 01"], "");
    assert_eq!(exit, Exit::Incomplete);
    assert!(
        err.starts_with("packet 1: tick_hz: 1 bytes, expected at least 8; "),
        "{err}"
    );
}
