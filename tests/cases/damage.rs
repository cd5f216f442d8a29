//! A data set in which every kind of damage occurs that can stand in a file: each is told once, in the file that has
//! it, and the other recordings' results stay what they are.

use std::collections::BTreeMap;
use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};

use fusion::Analysis;
use sensor::bids::{DataSet, create, find_runs, read_run, write_run};
use sensor::synthetic::{
    CompensationKind, CompensationPlan, RaisePlan, Scenario, Unit, UnitGrade, simulate,
};
use sensor::{Placement, RecordingId, Run, Side};

use super::kit::analyse_alone;

/// What is to come of a damaged recording.
enum Result {
    /// The undamaged run's analysis, bit for bit.
    Same,
    /// The same raises, angles within 0.1°.
    Close,
    /// The analysis of the run without its left shin.
    WithoutLeft,
    /// It can't be read at all.
    Lost,
}

/// A kind of damage.
struct Damage {
    /// The client it happens to.
    client: &'static str,
    /// What is done to the recording's files.
    make: fn(&Files),
    /// Words of each message that must come, in any order; exactly as many messages.
    told: &'static [&'static str],
    /// And the result.
    result: Result,
}

/// The files of one recording.
struct Files {
    root: PathBuf,
    folder: PathBuf,
    client: String,
}

impl Files {
    fn path(&self, placement: &str, end: &str) -> PathBuf {
        let acquisition = if self.client == "inherited" {
            "acq-far_"
        } else {
            ""
        };
        self.folder.join(format!(
            "sub-{}_ses-01_task-legraise_tracksys-{placement}_{acquisition}run-01_{end}",
            self.client
        ))
    }

    /// Changes the text of a file.
    fn change(&self, placement: &str, end: &str, by: impl Fn(&str) -> String) {
        let path = self.path(placement, end);
        let text = fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        let changed = by(&text);
        assert_ne!(text, changed, "{}: nothing was damaged", path.display());
        fs::write(path, changed).expect("writes");
    }

    /// Changes the cells of the right shin's samples; `by` gets the row's number.
    fn change_cells(&self, by: impl Fn(usize, &mut Vec<String>)) {
        self.change("shinright", "motion.tsv", |text| lines(text, &by));
    }
}

fn lines(text: &str, by: impl Fn(usize, &mut Vec<String>)) -> String {
    let line = |(n, line): (usize, &str)| {
        let mut cells: Vec<String> = line.split('\t').map(str::to_owned).collect();
        by(n, &mut cells);
        cells.join("\t") + "\n"
    };
    text.lines().enumerate().map(line).collect()
}

/// Divides the cells of a column by a factor.
fn divided(cells: &mut [String], columns: std::ops::Range<usize>, by: f64) {
    for cell in &mut cells[columns] {
        *cell = (cell.parse::<f64>().expect("a number") / by).to_string();
    }
}

/// Times of a sample far from any raise's ends: the middle of the first rest, row 100 of 100 Hz.
const RESTING_ROW: usize = 100;

const DAMAGES: &[Damage] = &[
    Damage {
        client: "sound",
        make: |_| {},
        told: &[],
        result: Result::Same,
    },
    Damage {
        client: "order",
        make: |files| {
            let last_first = |cells: &mut Vec<String>| cells.reverse();
            files.change("shinright", "motion.tsv", |text| {
                lines(text, |_, cells| last_first(cells))
            });
            files.change("shinright", "channels.tsv", |text| {
                let mut rows: Vec<&str> = text.lines().collect();
                rows[1..].reverse();
                rows.join("\n") + "\n"
            });
        },
        told: &["channels are not in the order"],
        result: Result::Same,
    },
    Damage {
        client: "extra",
        make: |files| {
            files.change_cells(|n, cells| cells.extend([n.to_string(), "n/a".to_owned()]));
            files.change("shinright", "channels.tsv", |text| {
                let width = text.lines().next().expect("a header").split('\t').count();
                let row = |start: &str| {
                    start.to_owned() + &"\tn/a".repeat(width - start.split('\t').count()) + "\n"
                };
                text.to_owned()
                    + &row("heart\tn/a\tMISC\tn/a\tbpm")
                    + &row("mx\tx\tMAGN\tshinright\tuT")
            });
        },
        told: &["channels that are not needed"],
        result: Result::Same,
    },
    Damage {
        client: "points",
        make: |files| {
            // Both shins in one file, told apart by their tracked points.
            let text = |end| fs::read_to_string(files.path("shinleft", end)).expect("reads");
            let (left_rows, left_channels, json) = (
                text("motion.tsv"),
                text("channels.tsv"),
                text("motion.json"),
            );
            let left: Vec<&str> = left_rows.lines().collect();
            files.change_cells(|n, cells| {
                cells.extend(left[n].split('\t').skip(1).map(str::to_owned));
            });
            files.change("shinright", "channels.tsv", |text| {
                let others: Vec<&str> = left_channels.lines().skip(2).collect();
                text.to_owned() + &others.join("\n") + "\n"
            });
            for end in ["motion.tsv", "channels.tsv"] {
                fs::rename(files.path("shinright", end), files.path("imu", end)).expect("moves");
                fs::remove_file(files.path("shinleft", end)).expect("removes");
            }
            fs::write(
                files.path("imu", "motion.json"),
                json.replace("shinleft", "imu"),
            )
            .expect("writes");
        },
        told: &[],
        result: Result::Same,
    },
    Damage {
        client: "timeless",
        make: |files| {
            files.change_cells(|_, cells| {
                cells.remove(0);
            });
            files.change("shinright", "channels.tsv", |text| {
                let others: Vec<&str> = text
                    .lines()
                    .filter(|line| !line.contains("LATENCY"))
                    .collect();
                others.join("\n") + "\n"
            });
        },
        told: &[],
        result: Result::Same,
    },
    Damage {
        client: "units",
        make: |files| {
            files.change_cells(|_, cells| {
                divided(cells, 1..4, 9.80665);
                divided(cells, 4..7, std::f64::consts::PI / 180.0);
            });
            files.change("shinright", "channels.tsv", |text| {
                text.replace("m/s^2", "g").replace("rad/s", "deg/s")
            });
        },
        told: &[],
        result: Result::Close,
    },
    Damage {
        client: "crlf",
        make: |files| files.change("shinright", "motion.tsv", |text| text.replace('\n', "\r\n")),
        told: &["CR LF"],
        result: Result::Same,
    },
    Damage {
        client: "bom",
        make: |files| files.change("shinright", "motion.tsv", |text| format!("\u{feff}{text}")),
        told: &["byte order mark"],
        result: Result::Same,
    },
    Damage {
        client: "absent",
        make: |files| {
            files.change_cells(|n, cells| {
                if n == RESTING_ROW {
                    "n/a".clone_into(&mut cells[2]);
                }
            });
        },
        told: &["1 samples with a missing value"],
        result: Result::Close,
    },
    Damage {
        client: "nan",
        make: |files| {
            files.change_cells(|n, cells| {
                if n == RESTING_ROW {
                    "NaN".clone_into(&mut cells[5]);
                }
            });
        },
        told: &["left out"],
        result: Result::Close,
    },
    Damage {
        client: "backward",
        make: |files| {
            files.change_cells(|n, cells| {
                // Once the same stamp again, once a second earlier.
                if n == RESTING_ROW {
                    "0.990000000".clone_into(&mut cells[0]);
                } else if n == RESTING_ROW + 20 {
                    "0.200000000".clone_into(&mut cells[0]);
                }
            });
        },
        told: &["2 rows with a time not after the row before"],
        result: Result::Close,
    },
    Damage {
        client: "empty",
        make: |files| fs::write(files.path("shinleft", "motion.tsv"), "").expect("writes"),
        told: &["empty recording"],
        result: Result::WithoutLeft,
    },
    Damage {
        client: "cut",
        make: |files| {
            files.change("shinright", "motion.tsv", |text| {
                text[..text.len() - 25].to_owned()
            });
        },
        told: &["last line is cut short"],
        result: Result::Close,
    },
    Damage {
        client: "nochannels",
        make: |files| fs::remove_file(files.path("shinright", "channels.tsv")).expect("removes"),
        told: &["no _channels.tsv"],
        result: Result::Same,
    },
    Damage {
        client: "nojson",
        make: |files| fs::remove_file(files.path("shinright", "motion.json")).expect("removes"),
        told: &["no _motion.json", "no SamplingFrequency"],
        result: Result::Same,
    },
    Damage {
        client: "inherited",
        make: |files| {
            // Once for everybody at the top, for this kind of acquisition.
            for placement in ["shinleft", "shinright"] {
                let common = format!("task-legraise_tracksys-{placement}_acq-far_motion.json");
                fs::rename(
                    files.path(placement, "motion.json"),
                    files.root.join(common),
                )
                .expect("moves");
            }
        },
        told: &[],
        result: Result::Same,
    },
    Damage {
        client: "gz",
        make: |files| {
            let path = files.path("shinright", "motion.tsv");
            let packed =
                fs::File::create(files.path("shinright", "motion.tsv.gz")).expect("a file");
            let mut packed = flate2::write::GzEncoder::new(packed, flate2::Compression::fast());
            packed
                .write_all(&fs::read(&path).expect("reads"))
                .expect("packs");
            packed.finish().expect("packs");
            fs::remove_file(path).expect("removes");
        },
        told: &[],
        result: Result::Same,
    },
    Damage {
        client: "garbage",
        make: |files| {
            fs::write(files.path("shinleft", "motion.tsv"), noise(40_000)).expect("writes");
        },
        told: &["not text"],
        result: Result::WithoutLeft,
    },
    Damage {
        client: "ruined",
        make: |files| {
            for placement in ["shinleft", "shinright"] {
                fs::write(files.path(placement, "motion.tsv"), noise(4000)).expect("writes");
            }
        },
        told: &["not text"],
        result: Result::Lost,
    },
    Damage {
        client: "huge",
        make: |files| {
            files.change_cells(|n, cells| {
                if n == RESTING_ROW {
                    "1e30".clone_into(&mut cells[1]);
                }
            });
        },
        told: &["1 samples beyond what any sensor measures, left out"],
        result: Result::Close,
    },
    Damage {
        client: "overflow",
        make: |files| {
            files.change_cells(|n, cells| {
                if n == RESTING_ROW {
                    "-1e300".clone_into(&mut cells[6]);
                }
            });
        },
        told: &["left out"],
        result: Result::Close,
    },
    Damage {
        client: "folder",
        make: |files| fs::create_dir(files.path("pelvis", "motion.tsv")).expect("a folder"),
        told: &["not a file"],
        result: Result::Same,
    },
];

/// Bytes that are no text, always the same.
fn noise(count: usize) -> Vec<u8> {
    let mut chance = super::kit::Chance(7);
    (0..count)
        .map(|_| if chance.share() < 0.5 { 0 } else { 0xfe })
        .collect()
}

/// Two raises, both shins sampled at the same times.
fn undamaged() -> Run {
    // In one raise the left knee bends, so that it matters whether the left shin was read.
    let bend = CompensationPlan {
        kind: CompensationKind::OppositeDown,
        at_deg: 40.0,
        extent_deg: 14.0,
        rate_deg_s: 12.0,
    };
    let gives_way = RaisePlan {
        compensation: Some(bend),
        ..RaisePlan::smooth(70.0)
    };
    let mut scenario = Scenario::quiet(Side::Right, vec![RaisePlan::smooth(62.0), gives_way]);
    scenario.mount_seed = Some(5);
    scenario.unit = Unit {
        states_limits: false,
        ..Unit::of_grade(UnitGrade::Good, 3)
    };
    let mut run = simulate(&scenario).run;
    let times: Vec<_> = run
        .track(Placement::ShinLeft)
        .expect("left")
        .samples
        .iter()
        .map(|s| s.at)
        .collect();
    for track in &mut run.tracks {
        track.samples.truncate(times.len());
        for (sample, at) in track.samples.iter_mut().zip(&times) {
            sample.at = *at;
        }
    }
    let shortest = run
        .tracks
        .iter()
        .map(|t| t.samples.len())
        .min()
        .expect("tracks");
    run.tracks
        .iter_mut()
        .for_each(|t| t.samples.truncate(shortest));
    run
}

fn write_all(root: &Path) -> Run {
    create(root, &DataSet::default()).expect("a data set");
    let run = undamaged();
    for damage in DAMAGES {
        let id = RecordingId {
            subject: Some(damage.client.to_owned()),
            session: Some("01".to_owned()),
            run: Some("01".to_owned()),
            acquisition: (damage.client == "inherited").then(|| "far".to_owned()),
            ..run.id.clone()
        };
        write_run(root, &Run { id, ..run.clone() })
            .unwrap_or_else(|e| panic!("{}: {e}", damage.client));
        let folder = root.join(format!("sub-{}/ses-01/motion", damage.client));
        (damage.make)(&Files {
            root: root.to_owned(),
            folder,
            client: damage.client.to_owned(),
        });
    }
    run
}

/// As text, what is wrong with a result.
fn wrong(found: &Analysis, expected: &Analysis, exactly: bool) -> Option<String> {
    if exactly {
        return (found != expected).then(|| "not the same result".to_owned());
    }
    let numbers = |analysis: &Analysis| -> Vec<f64> {
        let one = |raise: &fusion::Raise| {
            let degrees = |m: Option<f64>| m.unwrap_or(f64::NAN);
            [
                degrees(raise.peak.as_ref().map(|p| p.angle.value.degrees())),
                degrees(raise.hold.as_ref().map(|h| h.angle.value.degrees())),
                degrees(raise.end_point.as_ref().map(|e| e.angle.value.degrees())),
            ]
        };
        analysis.raises.iter().flat_map(one).collect()
    };
    let (found, expected) = (numbers(found), numbers(expected));
    let close = found.len() == expected.len()
        && found
            .iter()
            .zip(&expected)
            .all(|(a, b)| (a - b).abs() < 0.1);
    (!close).then(|| format!("{found:.3?} instead of {expected:.3?}"))
}

/// What is wrong with the messages about a recording: each must name the file, say what, and give the mend.
fn badly_told(damage: &Damage, told: &[String]) -> Vec<String> {
    let client = damage.client;
    let mut off = Vec::new();
    let is_told = |words: &&str| told.iter().any(|message| message.contains(*words));
    if told.len() != damage.told.len() || !damage.told.iter().all(is_told) {
        off.push(format!(
            "{client}: expected {:?}, told {told:?}",
            damage.told
        ));
    }
    for message in told {
        if !message.contains(&format!("sub-{client}_")) || !message.contains("; ") {
            off.push(format!("{client}: no file or no mend in {message:?}"));
        }
    }
    off
}

#[test]
fn damage_is_told_once_and_touches_nothing_else() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut run = write_all(folder.path());
    let whole = analyse_alone(&run);
    run.tracks
        .retain(|track| track.placement != Some(Placement::ShinLeft));
    let without_left = analyse_alone(&run);
    assert!(whole.raises.len() == 2 && without_left.raises.len() == 2 && whole != without_left);
    assert!(
        whole
            .raises
            .iter()
            .all(|r| r.peak.is_some() && r.hold.is_some() && r.end_point.is_some())
    );

    let found = find_runs(folder.path()).unwrap_or_else(|e| panic!("{e}"));
    let mut by_client: BTreeMap<String, Vec<_>> = BTreeMap::new();
    for files in found {
        by_client
            .entry(files.id.subject.clone().unwrap_or_default())
            .or_default()
            .push(files);
    }
    assert_eq!(
        by_client.len(),
        DAMAGES.len(),
        "every client has a recording"
    );
    let mut off = Vec::new();
    for damage in DAMAGES {
        let client = damage.client;
        let [files] = &by_client[client][..] else {
            panic!("{client}: one recording")
        };
        let (told, result) = match read_run(files) {
            Ok(read) => {
                let problems = read.problems.iter().map(ToString::to_string);
                let told: Vec<String> = problems
                    .chain(read.unreadable.iter().map(ToString::to_string))
                    .collect();
                (told, Some(analyse_alone(&read.run)))
            }
            Err(e) => (vec![e.to_string()], None),
        };
        let fault = match (&damage.result, result) {
            (Result::Lost, None) => None,
            (Result::Lost, Some(_)) => Some("was read".to_owned()),
            (_, None) => Some("can't be read".to_owned()),
            (Result::Same, Some(found)) => wrong(&found, &whole, true),
            (Result::Close, Some(found)) => wrong(&found, &whole, false),
            (Result::WithoutLeft, Some(found)) => wrong(&found, &without_left, true),
        };
        off.extend(fault.map(|fault| format!("{client}: {fault}; told {told:?}")));
        off.extend(badly_told(damage, &told));
    }
    assert!(off.is_empty(), "\n{}", off.join("\n"));
}
