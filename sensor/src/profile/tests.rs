//! What a profile may say, and what is told about one that can't be used.

use proptest::prelude::*;

use super::*;

/// A profile that can be used; rows of the tables change a part of it.
const GOOD: &str = r#"schema = "legraise/sensor-profile/1"
find = { name = "imu-*" }
rate = { nominal_hz = 100, choices = [50, 100] }
pair_goes_here = 1
write = [
  { when = "start", to = "2A00", hex = "02 {rate:u16le} {rate:u8} {index:u8}", response = true, expect = { from = "2A01", prefix = "82 00", timeout_ms = 1000 } },
  { when = "keepalive", to = "2A00", hex = "aa", every_s = 10, response = false },
]
read = [{ from = "2A02", at = 0, type = "f32", as = "acc_lsb" }]
limits = { accel_offset_m_s2 = 0.2, accel_scale = 0.01, gyro_scale = 0.02 }

[[stream]]
id = "motion"
from = "2A03"
length = 14
counter = { at = 0, type = "u16", mask = 0x0fff, counts = "packets" }
clock_goes_here = 1
samples = { at = 2, stride = 12, count = 1 }
channel = [
  { kind = "acc", axes = ["x"], at = 0, type = "i16", scale = "acc_lsb", unit = "g" },
  { kind = "acc", axes = ["-y", "-z"], at = 2, type = "i16be", scale = 1, unit = "m/s^2" },
  { kind = "gyro", at = 6, type = "i16", scale = 0.1, unit = "deg/s" },
]
"#;

pub(super) fn good() -> String {
    GOOD.replace("pair_goes_here = 1\n", "\n")
        .replace("clock_goes_here = 1\n", "\n")
}

pub(super) fn parse(text: &str) -> Result<Profile, ProfileError> {
    Profile::parse(text, "a.toml")
}

#[test]
fn the_folder_is_shipped_whole_and_sound() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/profiles");
    let mut names = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_stem().unwrap().to_str().unwrap().to_owned();
        let text = std::fs::read_to_string(&path).unwrap();
        let profile = Profile::parse(&text, &name).unwrap_or_else(|e| panic!("{e}"));
        assert_eq!(profile.warnings, [], "{name}");
        assert!(!profile.about.is_empty(), "{name} says what it is");
        assert!(shipped().contains(&profile), "{name} is not embedded");
        names.push(name);
    }
    assert_eq!(names.len(), shipped().len());
    assert_eq!(shipped()[0].name, "open-motion");
}

#[test]
fn all_that_is_written_is_there() {
    let profile = parse(&good()).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(profile.warnings, []);
    let steps: Vec<&WriteStep> = profile.writes_when(When::Start).collect();
    let bytes = steps[0].bytes(&profile.rate, 50.0);
    assert_eq!(bytes, Ok(vec![0x02, 50, 0, 50, 0]));
    let refused = steps[0].bytes(&profile.rate, 60.0).unwrap_err();
    assert_eq!(
        refused.to_string(),
        "rate: 60 Hz, expected 50 Hz, 100 Hz; choose one of these, or add the rate to `choices` if the device knows it"
    );
    assert!(steps[0].sets_rate() && steps[0].with_response);
    assert_eq!(steps[0].expect.as_ref().unwrap().prefix, [0x82, 0]);
    let kept = profile.writes_when(When::Keepalive).next().unwrap();
    assert_eq!((kept.every_s, kept.sets_rate()), (Some(10.0), false));
    assert_eq!(kept.bytes(&profile.rate, 60.0), Ok(vec![0xaa]));
    assert!(profile.reads[0].is_factor);
    assert_eq!(profile.limits.unwrap().gyro_scale.to_string(), "0.02");
    let stream = &profile.streams[0];
    assert_eq!(stream.counter.unwrap().field.bits(), 12);
    assert_eq!(stream.channels[1].axes[0].to_string(), "-y");
    assert_eq!(profile.notifying(), ["2a03".parse().unwrap()]);
    assert_eq!(profile.mtu_min(), 23);
}

/// Acc in one stream and gyro in another.
fn apart(pair: &str, acc: &str, gyro: &str) -> Result<Profile, ProfileError> {
    parse(&format!(
        r#"schema = "legraise/sensor-profile/1"
find = {{ service = "180f" }}
rate = {{ nominal_hz = 100 }}
{pair}
[[stream]]
from = "2A01"
{acc}
samples = {{ at = 2, stride = 6, count = 1 }}
channel = [{{ kind = "acc", at = 0, type = "i16", scale = 1, unit = "g" }}]
[[stream]]
from = "2A02"
{gyro}
samples = {{ at = 2, stride = 6, count = 1 }}
channel = [{{ kind = "gyro", at = 0, type = "i16", scale = 1, unit = "deg/s" }}]
"#
    ))
}

#[test]
fn halves_need_what_joins_them() {
    let clock = "clock = { at = 0, type = \"u16\", tick_s = 0.001, of = \"last\" }";
    let finer = "clock = { at = 0, type = \"u16\", tick_s = 0.0001, of = \"last\" }";
    let counter = "counter = { at = 0, type = \"u16\", counts = \"samples\" }";
    let pair =
        |by: &str| format!("pair = {{ by = \"{by}\", tolerance_ms = 5, method = \"nearest\" }}");
    for by in ["clock", "arrival"] {
        assert!(apart(&pair(by), clock, clock).is_ok(), "{by}");
    }
    assert!(apart(&pair("counter"), counter, counter).is_ok());
    for (pair, acc, gyro, told) in [
        (String::new(), clock, clock, "a.toml: [pair] is missing"),
        (pair("clock"), clock, finer, "a.toml:4: [pair] by clock"),
        (pair("clock"), clock, counter, "a.toml:4: [pair] by clock"),
        (pair("counter"), clock, clock, "a.toml:4: [pair] by counter"),
    ] {
        let text = apart(&pair, acc, gyro).unwrap_err().to_string();
        assert!(text.starts_with(told), "{text}");
    }
    let together = GOOD
        .replace("pair_goes_here = 1", &pair("arrival"))
        .replace("clock_goes_here = 1\n", "");
    let text = parse(&together).unwrap_err().to_string();
    assert!(text.starts_with("a.toml:4: [pair] is there"), "{text}");
}

#[test]
fn streams_of_one_characteristic_must_be_told_apart() {
    let second = |from: &str, kind: &str| {
        let matches = |kind: &str| format!("match = [{{ at = 0, hex = \"{kind}\" }}]\n");
        let whole = good();
        let start = whole.find("[[stream]]").unwrap();
        let stream = whole[start..].replace("length = 14\n", &matches(kind));
        let stream = stream
            .replace("2A03", from)
            .replace("\"motion\"", "\"other\"");
        parse(&(whole.replace("length = 14\n", &matches("01")) + &stream))
    };
    assert!(second("2A04", "01").is_ok());
    assert!(second("2A03", "02").is_ok());
    let text = second("2A03", "01").unwrap_err().to_string();
    assert!(text.contains("several streams from 00002a03"), "{text}");
}

#[test]
fn odd_profiles_work_and_are_told() {
    let text = good()
        .replace("[\"-y\", \"-z\"]", "[\"-y\", \"z\"]")
        .replace("counter = {", "#")
        .replace(
            "as = \"acc_lsb\" }",
            "as = \"acc_lsb\" }, { from = \"2A02\", at = 4, type = \"u8\", as = \"spare\" }",
        );
    let profile = parse(&text).unwrap_or_else(|e| panic!("{e}"));
    let told: Vec<String> = profile.warnings.iter().map(ToString::to_string).collect();
    let expected = [
        "a.toml:12: axes of acc are left-handed",
        "a.toml:12: neither counter",
        "a.toml:9: [[read]] \"spare\"",
    ];
    assert_eq!(told.len(), expected.len(), "{told:?}");
    for (told, expected) in told.iter().zip(expected) {
        assert!(told.starts_with(expected) && told.contains("; "), "{told}");
    }
}

proptest! {
    /// Any damage to a profile is an error or a profile, never a panic.
    #[test]
    fn any_text_is_taken(at in 0usize..1500, instead in "[-0-9a-z\"\\[\\]{}=., \n]{0,12}", length in 0usize..30) {
        let mut text = good();
        let at = at.min(text.len());
        let end = (at + length).min(text.len());
        text.replace_range(at..end, &instead);
        if let Err(error) = parse(&text) {
            prop_assert!(!error.kind.mend().is_empty());
        }
    }
}
