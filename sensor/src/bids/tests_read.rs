//! What files look like in the field, one row a nasty.
#![allow(
    clippy::too_many_lines,
    clippy::format_collect,
    reason = "tables of cases, made as text"
)]

use std::fs;
use std::path::{Path, PathBuf};

use super::*;
use crate::Placement;

pub(crate) const STEM: &str = "sub-a_ses-01_task-legraise_tracksys-shinright_run-01";
pub(crate) const CHANNELS: &str = "name\tcomponent\ttype\ttracked_point\tunits\n\
    t\tn/a\tLATENCY\tn/a\ts\n\
    ax\tx\tACCEL\tshinright\tm/s^2\nay\ty\tACCEL\tshinright\tm/s^2\naz\tz\tACCEL\tshinright\tm/s^2\n\
    gx\tx\tGYRO\tshinright\trad/s\ngy\ty\tGYRO\tshinright\trad/s\ngz\tz\tGYRO\tshinright\trad/s\n";
pub(crate) const JSON: &str = r#"{"TaskName": "legraise", "SamplingFrequency": 100}"#;
pub(crate) const ROW: &str = "0\t0\t9.8\t0.1\t0.2\t0.3";

/// Rows 10 ms apart.
pub(crate) fn rows(count: usize) -> String {
    (0..count)
        .map(|i| format!("{}\t{ROW}\n", i as f64 * 0.01))
        .collect()
}

pub(crate) fn put(folder: &Path, name: &str, bytes: impl AsRef<[u8]>) -> PathBuf {
    let path = folder.join(name);
    fs::create_dir_all(path.parent().expect("inside")).expect("folder");
    fs::write(&path, bytes).expect("file");
    path
}

/// Reads a file of samples with the given channels and the usual description.
pub(crate) fn read(
    motion: &[u8],
    channels: &str,
    json: &str,
) -> Result<(Vec<crate::Track>, Vec<Problem>), ReadError> {
    let dir = tempfile::tempdir().expect("tempdir");
    put(dir.path(), &format!("{STEM}_channels.tsv"), channels);
    put(dir.path(), &format!("{STEM}_motion.json"), json);
    read_motion(&put(dir.path(), &format!("{STEM}_motion.tsv"), motion))
}

pub(crate) fn read_text(motion: &str) -> Result<(Vec<crate::Track>, Vec<Problem>), ReadError> {
    read(motion.as_bytes(), CHANNELS, JSON)
}

#[test]
fn plain_file() {
    let (tracks, problems) = read_text(&rows(5)).expect("reads");
    assert_eq!(problems, []);
    let track = &tracks[0];
    assert_eq!(
        (track.name.as_str(), track.placement),
        ("shinright", Some(Placement::ShinRight))
    );
    assert_eq!(
        (track.rate_hz, track.limits, track.samples.len()),
        (100.0, None, 5)
    );
    assert_eq!(track.samples[3].at.ns(), 30_000_000);
    assert_eq!(
        (track.samples[3].accel_m_s2, track.samples[3].gyro_rad_s),
        ([0.0, 0.0, 9.8], [0.1, 0.2, 0.3])
    );
    assert!(track.stamps.is_empty());
}

#[test]
fn damage_that_leaves_samples() {
    let good = rows(20);
    let bad_line = |line: &str| {
        format!(
            "{}{line}\n{}",
            rows(2),
            good.lines().skip(2).collect::<Vec<_>>().join("\n")
        )
    };
    // name, text, samples kept, the problem's words, its line
    let table: Vec<(&str, String, usize, &str, Option<u64>)> = vec![
        ("crlf", good.replace('\n', "\r\n"), 20, "end in CR LF", None),
        (
            "byte order mark",
            format!("\u{feff}{good}"),
            20,
            "byte order mark",
            None,
        ),
        ("blank lines", good.replace('\n', "\n\n"), 20, "", None),
        ("blank first", format!("\n\n{good}"), 20, "", None),
        ("trailing tab", good.replace('\n', "\t\n"), 20, "", None),
        (
            "no newline at the end",
            good.trim_end().to_owned(),
            20,
            "",
            None,
        ),
        (
            "header",
            format!("t\tax\tay\taz\tgx\tgy\tgz\n{good}"),
            20,
            "taken for a header",
            None,
        ),
        (
            "blanks",
            good.replace('\t', "   "),
            20,
            "not separated by tabs",
            None,
        ),
        (
            "commas",
            good.replace('\t', ", "),
            20,
            "not separated by tabs",
            None,
        ),
        (
            "semicolons",
            good.replace('\t', ";"),
            20,
            "not separated by tabs",
            None,
        ),
        (
            "n/a",
            good.replacen("9.8", "n/a", 2),
            18,
            "2 samples with a missing value",
            Some(1),
        ),
        (
            "nan and inf",
            good.replacen("0.1", "NaN", 1).replacen("0.2", "-inf", 1),
            19,
            "1 samples",
            Some(1),
        ),
        (
            "too large for a float",
            good.replacen("0.1", "1e60", 1),
            19,
            "1 samples",
            Some(1),
        ),
        (
            "empty cell",
            good.replacen("9.8", "", 1),
            19,
            "1 samples",
            Some(1),
        ),
        (
            "empty last cell",
            good.replacen("\t0.3", "\t", 1),
            19,
            "1 samples",
            Some(1),
        ),
        (
            "time n/a",
            good.replacen("0.01\t", "n/a\t", 1),
            19,
            "1 samples",
            Some(2),
        ),
        (
            "repeated time",
            good.replacen("0.02\t", "0.01\t", 1),
            19,
            "1 rows with a time not after",
            Some(3),
        ),
        (
            "backward time",
            good.replacen("0.03\t", "0.005\t", 1),
            19,
            "1 rows with a time not after",
            Some(4),
        ),
        (
            "one time far ahead",
            good.replacen("0.02\t", "777\t", 1),
            19,
            "1 rows with a time not after",
            Some(4),
        ),
        (
            "first time far ahead",
            good.replacen("0\t", "777\t", 1),
            19,
            "1 rows with a time not after",
            Some(2),
        ),
        (
            "beyond the longest run",
            good.replacen("0.19\t", "3000000\t", 1),
            19,
            "not after",
            Some(20),
        ),
        (
            "ragged line",
            bad_line("0.5\t1\t2"),
            20,
            "3 columns, expected 7",
            Some(3),
        ),
        (
            "word in a line",
            bad_line(&format!("0.015\tx{ROW}")),
            20,
            "expected a number",
            Some(3),
        ),
        (
            "cut line",
            format!("{good}0.2\t0\t0\t9."),
            20,
            "cut short",
            Some(21),
        ),
        (
            "cut in a word",
            format!("{good}0.2\t0\t0\t9.8\t0\t0\t-"),
            20,
            "cut short",
            Some(21),
        ),
    ];
    for (name, text, count, words, line) in table {
        let (tracks, problems) = read_text(&text).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_eq!(tracks[0].samples.len(), count, "{name}: {problems:?}");
        if words.is_empty() {
            assert_eq!(problems, [], "{name}");
        } else {
            let told = problems.iter().find(|p| p.to_string().contains(words));
            let told = told.unwrap_or_else(|| panic!("{name}: {problems:?}"));
            assert_eq!(told.place.line, line, "{name}");
            assert_eq!(problems.len(), 1, "{name}: {problems:?}");
        }
        assert!(
            tracks[0].samples.windows(2).all(|w| w[0].at < w[1].at),
            "{name}"
        );
    }
}

#[test]
fn damage_that_leaves_nothing() {
    let good = rows(20);
    let table: Vec<(&str, Vec<u8>, &str)> = vec![
        ("no byte", vec![], "empty recording"),
        ("one byte", b"\n".to_vec(), "empty recording"),
        ("zeros", vec![0; 5000], "not text"),
        ("two-byte text", b"\xFF\xFE0\x00\t\x00".to_vec(), "not text"),
        (
            "not UTF-8",
            b"\xC3\x28\xA0\xA1 garbage\n\x9F\x92\n".to_vec(),
            "columns",
        ),
        (
            "decimal comma",
            good.replace("9.8", "9,8").into_bytes(),
            "use a decimal point",
        ),
        (
            "decimal comma, blanks",
            good.replace("9.8", "9,8").replace('\t', " ").into_bytes(),
            "use a decimal point",
        ),
        (
            "decimal comma, semicolons",
            good.replace('.', ",").replace('\t', ";").into_bytes(),
            "use a decimal point",
        ),
        (
            "all missing",
            good.replace("9.8", "n/a").into_bytes(),
            "no sample with all its values",
        ),
        (
            "other columns",
            good.replace("9.8", "9.8\t1").into_bytes(),
            "20 of 20 rows can't be read: 8 columns",
        ),
        (
            "a fifth is bad",
            good.replace("\t0.3\n", "\t0.3\nx\n").into_bytes(),
            "rows can't be read",
        ),
        ("a long line", vec![b'1'; 70_000], "a line longer than"),
        (
            "header alone",
            b"t\tax\tay\taz\tgx\tgy\tgz\n".to_vec(),
            "no sample",
        ),
    ];
    for (name, bytes, words) in table {
        let error = read(&bytes, CHANNELS, JSON).expect_err(name).to_string();
        assert!(error.contains(words), "{name}: {error}");
        assert!(
            error.starts_with(&format!("{STEM}_motion.tsv")),
            "{name}: {error}"
        );
    }
    let line = read_text(&good.replacen("9.8", "9,8", 1))
        .expect_err("comma")
        .place
        .line;
    assert_eq!(line, Some(1));
}

#[test]
fn not_a_file() {
    let dir = tempfile::tempdir().expect("tempdir");
    assert!(matches!(
        read_motion(dir.path()),
        Err(ReadError {
            kind: ReadErrorKind::NotAFile,
            ..
        })
    ));
    let missing = dir.path().join("x_motion.tsv");
    assert!(matches!(
        read_motion(&missing),
        Err(ReadError {
            kind: ReadErrorKind::Io(_),
            ..
        })
    ));
}

#[test]
fn compressed() {
    use std::io::Write as _;
    let dir = tempfile::tempdir().expect("tempdir");
    let mut gz = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
    // Not too even, so that the middle of the packed file is a middle of the text.
    let text: String = (0..20_000)
        .map(|i| {
            format!(
                "{}\t{}\t0\t9.8\t0\t0\t0\n",
                f64::from(i) * 0.01,
                f64::from(i * 7919 % 1009) * 1e-3
            )
        })
        .collect();
    gz.write_all(text.as_bytes()).expect("packs");
    let bytes = gz.finish().expect("packs");
    put(dir.path(), &format!("{STEM}_channels.tsv"), CHANNELS);
    put(dir.path(), &format!("{STEM}_motion.json"), JSON);
    let (tracks, problems) =
        read_motion(&put(dir.path(), &format!("{STEM}_motion.tsv.gz"), &bytes)).expect("reads");
    assert_eq!((tracks[0].samples.len(), problems.len()), (20_000, 0));
    let cut = put(
        dir.path(),
        &format!("{STEM}_motion.tsv.gz"),
        &bytes[..bytes.len() / 2],
    );
    let (tracks, problems) = read_motion(&cut).expect("reads what is there");
    assert!(
        (1000..20_000).contains(&tracks[0].samples.len()),
        "{}",
        tracks[0].samples.len()
    );
    assert_eq!(
        problems.iter().map(|p| &p.kind).collect::<Vec<_>>(),
        [&ProblemKind::CutGzip]
    );
}

proptest::proptest! {
    #[test]
    fn no_bytes_make_it_panic(motion: Vec<u8>, channels in "[a-zA-Z/\\t\\n]{0,80}", json in "\\PC{0,40}", text in "[0-9.,;\\-\\t\\n na/e+]{0,200}") {
        drop(read(&motion, &(CHANNELS.to_owned() + &channels), &json));
        drop(read(text.as_bytes(), CHANNELS, JSON));
        drop(read(text.as_bytes(), &channels, JSON));
    }
}

proptest::proptest! {
    #[test]
    fn the_slow_way_reads_the_same(values in proptest::collection::vec(proptest::array::uniform6(-50f32..50.0), 1..20)) {
        let text: String = (0..).zip(&values).map(|(i, [a, b, c, d, e, f])| {
            format!("{:.9}\t{a}\t{b}\t{c}\t{d}\t{e}\t{f}\n", f64::from(i) * 0.01)
        }).collect();
        let fast = read_text(&text).expect("reads").0;
        let slow = read_text(&text.replace('\t', " \t")).expect("reads").0;
        proptest::prop_assert_eq!(fast[0].samples.len(), values.len());
        proptest::prop_assert_eq!(fast, slow);
    }
}
