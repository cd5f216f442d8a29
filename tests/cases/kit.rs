//! The suite's own tools: where things lie, reading a run with its session, pairing raises with truth, plain statistics.

use std::path::{Path, PathBuf};

use fusion::{Analysis, Raise, SessionContext, Settings, analyse_run};
use sensor::Run;
use sensor::bids::{RunFiles, find_runs, read_run, session_of};
use sensor::synthetic::{Simulated, TruthRaise};

/// The top of the source tree.
pub(super) fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// The program, as `cargo build` puts it beside this suite.
pub(super) fn program() -> PathBuf {
    let suite = std::env::current_exe().expect("this program");
    let folder = suite
        .parent()
        .and_then(Path::parent)
        .expect("target/*/deps");
    let program = folder.join(format!("legraise{}", std::env::consts::EXE_SUFFIX));
    assert!(
        program.is_file(),
        "{}: not built; run `cargo build` first",
        program.display()
    );
    program
}

/// A file or folder of the suite's own data.
pub(super) fn data(inside: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("data")
        .join(inside)
}

/// The files of one run; `path` names one of them, or a folder that holds that run alone.
pub(super) fn run_at(path: &Path) -> RunFiles {
    let mut found = find_runs(path).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(found.len(), 1, "{}: one run", path.display());
    found.remove(0)
}

/// Analyses a run on disk as the program does: against the session's flat recordings.
pub(super) fn analyse_files(files: &RunFiles) -> Analysis {
    let read = read_run(files).unwrap_or_else(|e| panic!("{e}"));
    let session = session_of(files);
    let runs = |files: &[RunFiles]| {
        files
            .iter()
            .filter_map(|f| read_run(f).ok())
            .map(|r| r.run)
            .collect()
    };
    let context = SessionContext {
        flats: runs(&session.flats),
    };
    analyse_run(&read.run, &context, &Settings::default())
}

/// Analyses a run that stands alone.
pub(super) fn analyse_alone(run: &Run) -> Analysis {
    analyse_run(run, &SessionContext::default(), &Settings::default())
}

/// The found raise that belongs to each true one (same leg, on its way at the true peak), and how many belong to none.
pub(super) fn paired<'a>(
    simulated: &'a Simulated,
    analysis: &'a Analysis,
) -> (Vec<(&'a TruthRaise, Option<&'a Raise>)>, usize) {
    let belongs = |truth: &TruthRaise, raise: &Raise| {
        raise.side == truth.side
            && raise.start_s <= truth.peak.time_s
            && truth.peak.time_s <= raise.end_s
    };
    let pairs: Vec<_> = simulated
        .truth
        .iter()
        .map(|truth| {
            (
                truth,
                analysis.raises.iter().find(|raise| belongs(truth, raise)),
            )
        })
        .collect();
    let used = pairs.iter().filter(|(_, raise)| raise.is_some()).count();
    (pairs, analysis.raises.len() - used)
}

/// The value below which this share of the values lies (nearest rank).
pub(super) fn quantile(values: &[f64], share: f64) -> f64 {
    assert!(!values.is_empty(), "a quantile of nothing");
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let rank = (share * sorted.len() as f64).ceil().max(1.0);
    let rank = (1..=sorted.len())
        .find(|&n| n as f64 >= rank)
        .unwrap_or(sorted.len());
    sorted[rank - 1]
}

/// Arithmetic mean.
pub(super) fn mean(values: &[f64]) -> f64 {
    assert!(!values.is_empty(), "a mean of nothing");
    values.iter().sum::<f64>() / values.len() as f64
}

/// Root of the mean square.
pub(super) fn rms(values: &[f64]) -> f64 {
    mean(&values.iter().map(|v| v * v).collect::<Vec<_>>()).sqrt()
}

/// Probability that at most `k` of `n` independent trials succeed, each with probability `p`.
pub(super) fn binomial_at_most(k: u32, n: u32, p: f64) -> f64 {
    let mut log_choose = 0.0;
    let mut sum = 0.0;
    for i in 0..=k.min(n) {
        if i > 0 {
            log_choose += f64::from(n - i + 1).ln() - f64::from(i).ln();
        }
        sum += (log_choose + f64::from(i) * p.ln() + f64::from(n - i) * (1.0 - p).ln()).exp();
    }
    sum.min(1.0)
}

/// Chance for making cases: the generator `SplitMix64` (Steele, Lea, Flood, OOPSLA 2014, doi:10.1145/2660193.2660195).
pub(super) struct Chance(pub(super) u64);

impl Chance {
    /// Evenly spread over [0, 1).
    pub(super) fn share(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Evenly spread between two values.
    pub(super) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }
}

#[test]
fn the_tools_count_right() {
    assert!((quantile(&[4.0, 1.0, 3.0, 2.0], 0.5) - 2.0).abs() < 1e-12);
    assert!((quantile(&[1.0, 2.0, 3.0], 0.95) - 3.0).abs() < 1e-12);
    assert!((rms(&[3.0, 4.0]) - 12.5_f64.sqrt()).abs() < 1e-12);
    // Exact: 11 of 1024 ways give at most one head in ten throws.
    assert!((binomial_at_most(1, 10, 0.5) - 11.0 / 1024.0).abs() < 1e-14);
    assert!((binomial_at_most(799, 800, 0.99) - (1.0 - 0.99_f64.powi(800))).abs() < 1e-9);
    // First output of SplitMix64 seeded with 0 is 0xe220a8397b1dcdaf (published test value of the generator, from memory).
    assert!(
        (Chance(0).share() - (0xe220_a839_7b1d_cdaf_u64 >> 11) as f64 / (1_u64 << 53) as f64).abs()
            < 1e-18
    );
}
