//! Mistakes in a profile, one a row.

use super::Profile;
use super::tests::{good, parse};

/// What is changed in the good profile, what is then told, with the line.
const TABLE: [(&str, &str, &str); 48] = [
    (
        "/1\"",
        "/2\"",
        ":1: schema \"legraise/sensor-profile/2\", expected",
    ),
    (
        "schema = \"legraise/sensor-profile/1\"",
        "",
        ":1: missing field `schema`; add it",
    ),
    ("{ name = \"imu-*\" }", "{}", ":2: [find] is empty"),
    (
        "name = \"imu-*\"",
        "nmae = \"imu-*\"",
        ":2: unknown field `nmae`",
    ),
    (
        "name = \"imu-*\"",
        "service = \"18\"",
        ":2: service is \"18\", expected 4 or 8 hex digits",
    ),
    (
        "name = \"imu-*\"",
        "manufacturer = 65536",
        ":2: manufacturer is 65536, expected 0 to 65535",
    ),
    (
        "nominal_hz = 100",
        "nominal_hz = 0",
        ":3: nominal_hz is 0, expected 1 to 8000",
    ),
    (
        "nominal_hz = 100",
        "nominal_hz = nan",
        ":3: nominal_hz is NaN",
    ),
    (
        "nominal_hz = 100",
        "nominal_hz = 60",
        ":3: nominal_hz is 60, expected one of the choices",
    ),
    (
        "nominal_hz = 100",
        "nominal_hz = \"x\"",
        ":3: invalid type: string \"x\", expected f64; correct",
    ),
    ("[50, 100]", "[50, 100, 300]", ":6: placeholder"),
    (", choices = [50, 100]", "", ":6: placeholder"),
    ("{index:u8}", "{index:u9}", ":6: placeholder \"{index:u9}\""),
    (
        "\"aa\"",
        "\"a\"",
        ":7: hex is \"a\", expected bytes of two hex digits each",
    ),
    ("\"aa\"", "\"\"", ":7: hex is \"\""),
    (
        ", every_s = 10",
        "",
        ":7: no every_s, which when = \"keepalive\" needs; add it",
    ),
    (
        "response = true,",
        "response = true, every_s = 1,",
        ":6: every_s with another `when`",
    ),
    (
        "when = \"start\"",
        "when = \"begin\"",
        ":6: unknown variant `begin`",
    ),
    (
        "timeout_ms = 1000",
        "timeout_ms = 0",
        ":6: timeout_ms is 0, expected 1 to 60000",
    ),
    (
        "type = \"f32\"",
        "type = \"f16\"",
        ":9: type is \"f16\", expected u8, i8",
    ),
    (
        "as = \"acc_lsb\" }",
        "as = \"a\" }",
        ":20: scale is \"acc_lsb\", expected a number or the name",
    ),
    (
        "as = \"acc_lsb\" }",
        "as = \"acc_lsb\" }, { from = \"2A02\", at = 4, type = \"f32\", as = \"acc_lsb\" }",
        ":9: a second [[read]] as \"acc_lsb\"",
    ),
    (
        "accel_scale = 0.01",
        "accel_scale = 1",
        ":10: accel_scale is 1, expected 0 to 0.5",
    ),
    (
        "length = 14",
        "length = 12",
        ":12: samples ends at byte 14, expected at most 12",
    ),
    (
        "length = 14",
        "length = 600",
        ":15: length is 600, expected 1 to 512",
    ),
    (
        "length = 14",
        "length = 14\nmin_length = 14",
        ":16: min_length with length",
    ),
    (
        "length = 14",
        "length = 14\nmode = \"bytes\"",
        ":12: no frame, which mode = \"bytes\" needs",
    ),
    (
        "length = 14",
        "frame = { sync = \"a5\", length = 14 }",
        ":15: frame with mode = \"packet\"",
    ),
    (
        "length = 14",
        "mode = \"bytes\"\nframe = { length = 14 }",
        ":16: no sync, which a frame without escape needs",
    ),
    (
        "length = 14",
        "mode = \"bytes\"\nframe = { sync = \"a5\", length_at = 1 }",
        ":16: no length_type",
    ),
    (
        "length = 14",
        "mode = \"bytes\"\nframe = { sync = \"a5\", length = 17, checksum = { kind = \"sum16\", from = 0, to = -2, at = -1 } }",
        ":16: checksum ends at byte 1",
    ),
    (
        "length = 14",
        "verify = [{ at = 0, type = \"u8\" }]",
        ":12: no equals or at_most",
    ),
    (
        "\"u16\", mask",
        "\"i16\", mask",
        ":16: type is \"i16\", expected u8, u16, u24 or u32",
    ),
    (
        "0x0fff",
        "0x0ff1",
        ":16: mask is 0xff1, expected one unbroken stretch",
    ),
    ("0x0fff", "0x1ffff", ":16: mask is 0x1ffff"),
    (
        "count = 1",
        "count = 0",
        ":18: count is 0, expected 1 to 255",
    ),
    ("count = 1", "count = \"all\"", ":18: unknown variant `all`"),
    (
        "count = 1",
        "count = { at = 1, type = \"u16\" }",
        ":18: type is \"u16\", expected u8",
    ),
    (
        "at = 6",
        "at = 7",
        ":22: channel ends at byte 13, expected at most 12; correct offset, type or size",
    ),
    (
        "\"-y\", \"-z\"",
        "\"-y\", \"-x\"",
        ":12: axes of acc are \"x -y -x\"",
    ),
    (
        "\"-y\", \"-z\"",
        "\"-y\", \"up\"",
        ":21: axes of acc are \"-y up\"",
    ),
    (
        "unit = \"deg/s\"",
        "unit = \"g\"",
        ":22: unit of gyro is \"g\"",
    ),
    (", unit = \"deg/s\"", "", ":22: no unit"),
    ("scale = 0.1", "scale = 0", ":22: scale is 0, expected"),
    (
        "kind = \"gyro\", at = 6, type = \"i16\", scale = 0.1, unit = \"deg/s\"",
        "kind = \"battery\", at = 6, type = \"u8\", scale = 1",
        ": no stream with gyro",
    ),
    (
        "0x0fff",
        "0x007f",
        ":12: counter of 7 bits, expected at least 8",
    ),
    (
        "length = 14",
        "length = 14\nclock = { at = 0, type = \"u16\", tick_s = 1, of = \"first\" }",
        ":16: a tick in seconds is 1, expected",
    ),
    ("rate = {", "rate {", ":3: "),
];

#[test]
fn each_mistake_is_told_with_its_line_and_mend() {
    for (old, new, told) in TABLE {
        assert!(good().contains(old), "{old}");
        let error = parse(&good().replacen(old, new, 1)).unwrap_err();
        let text = error.to_string();
        let is_told = text.starts_with(&format!("a.toml{told}"));
        assert!(is_told, "{old} to {new}: {text}");
        assert!(
            text.contains("; ") && !text.ends_with('.') && !text.contains('\n'),
            "{text}"
        );
        assert!(text.ends_with(&error.kind.mend()), "{text}");
    }
    let long = "#".repeat(Profile::BYTES_MAX + 1);
    assert!(
        parse(&long)
            .unwrap_err()
            .to_string()
            .contains("65537 bytes")
    );
}
