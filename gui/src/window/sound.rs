//! Sounds, played by the sound program that the system has: nothing of a sound library is needed to build or to start.
//!
//! A thread of its own waits for the player, so that a sound never holds up a frame. One that would come late, because
//! another is still playing, isn't played at all. Whatever is heard is seen too; where no player is found, that is told
//! once.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::thread::Builder;
use std::time::Duration;

use super::model::Cue;

/// Samples of a sound a second.
const RATE_HZ: u32 = 22_050;
/// Full scale of a sample, with some room above.
const LOUD: f64 = 0.7 * 32_767.0;
/// A tone begins and ends so softly that it doesn't click, s.
const SOFT_S: f64 = 0.012;
/// A player that takes longer is ended.
const PLAYING_MAX: Duration = Duration::from_secs(3);
const LOOK: Duration = Duration::from_millis(20);

/// Programs that play a file, and what they are told before its name; the first that is there is taken.
const PLAYERS: [(&str, &[&str]); 4] = [
    ("pw-play", &[]),
    ("paplay", &[]),
    ("aplay", &["-q"]),
    ("afplay", &[]),
];

/// Plays cues.
pub(super) struct Sound {
    cues: SyncSender<Cue>,
    faults: Receiver<String>,
}

impl Sound {
    /// Looks for a player in these folders, and waits for cues.
    pub(super) fn new(folders: Vec<PathBuf>) -> io::Result<Self> {
        // One may wait; more would come late.
        let (cues, waiting) = sync_channel(1);
        let (tell, faults) = sync_channel(1);
        Builder::new().name("sound".to_owned()).spawn(move || {
            if let Err(fault) = play_all(&folders, &waiting) {
                drop(tell.send(fault)); // a window that is gone hears nothing
            }
        })?;
        Ok(Self { cues, faults })
    }

    /// The folders where programs lie.
    pub(super) fn usual_folders() -> Vec<PathBuf> {
        std::env::var_os("PATH")
            .map_or_else(Vec::new, |path| std::env::split_paths(&path).collect())
    }

    /// Plays it, unless one is waiting already, or none can be played.
    pub(super) fn play(&self, cue: Cue) {
        self.cues.try_send(cue).ok(); // seen, if not heard
    }

    /// Why nothing can be heard, once.
    pub(super) fn fault(&self) -> Option<String> {
        self.faults.try_recv().ok()
    }
}

/// Plays what comes, until nobody asks any more or the player fails.
fn play_all(folders: &[PathBuf], waiting: &Receiver<Cue>) -> Result<(), String> {
    // Nothing is looked for or written before the first sound.
    let Ok(first) = waiting.recv() else {
        return Ok(());
    };
    let (program, args) = player(folders).ok_or_else(|| {
        "no program that plays sounds; install alsa-utils, or switch the sounds off".to_owned()
    })?;
    let own = Own::new().map_err(|e| format!("sounds can't be kept for playing ({e})"))?;
    for cue in std::iter::once(first).chain(waiting.iter()) {
        let file = own.file(cue).map_err(|e| e.to_string())?;
        play(&program, args, &file).map_err(|e| {
            format!(
                "{}: {e}; sounds are off until the next start",
                program.display()
            )
        })?;
    }
    Ok(())
}

fn player(folders: &[PathBuf]) -> Option<(PathBuf, &'static [&'static str])> {
    PLAYERS.iter().find_map(|(name, args)| {
        let mut places = folders.iter().map(|folder| folder.join(name));
        places
            .find(|place| place.is_file())
            .map(|place| (place, *args))
    })
}

fn play(program: &Path, args: &[&str], file: &Path) -> io::Result<()> {
    let mut child = Command::new(program)
        .args(args)
        .arg(file)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()?;
    let mut waited = Duration::ZERO;
    loop {
        match child.try_wait()? {
            Some(ended) if ended.success() => return Ok(()),
            Some(ended) => return Err(io::Error::other(format!("it ended with {ended}"))),
            None if PLAYING_MAX < waited => {
                child.kill()?;
                child.wait()?;
                return Err(io::Error::other("it didn't end in time"));
            }
            None => std::thread::sleep(LOOK),
        }
        waited += LOOK;
    }
}

/// A folder of our own with a file for each sound; it goes away with the thread.
struct Own(PathBuf);

impl Own {
    fn new() -> io::Result<Self> {
        let folder = std::env::temp_dir().join(format!("legraise-sounds-{}", std::process::id()));
        fs::create_dir_all(&folder)?;
        Ok(Self(folder))
    }

    fn file(&self, cue: Cue) -> io::Result<PathBuf> {
        let file = self.0.join(format!("{cue:?}.wav"));
        if !file.exists() {
            write(&file, tones(cue)).map_err(io::Error::other)?;
        }
        Ok(file)
    }
}

impl Drop for Own {
    fn drop(&mut self) {
        drop(fs::remove_dir_all(&self.0)); // a folder for temporary files is emptied anyway
    }
}

/// Pitch, Hz (0 is a pause), and length, s, of each tone. Told apart by rhythm alone, for ears that miss the pitch.
const fn tones(cue: Cue) -> &'static [(f64, f64)] {
    match cue {
        Cue::Ready => &[(660.0, 0.12)],
        Cue::EndPoint => &[(660.0, 0.10), (990.0, 0.28)],
        Cue::GivesWay => &[
            (520.0, 0.09),
            (0.0, 0.05),
            (520.0, 0.09),
            (0.0, 0.05),
            (520.0, 0.09),
        ],
        Cue::Lost => &[(330.0, 0.35), (0.0, 0.10), (247.0, 0.45)],
        // Of the pacer: long for breathing, short for the rest; low and soft, for somebody lies beside it.
        Cue::In => &[(330.0, 0.16), (392.0, 0.16), (494.0, 0.30)],
        Cue::Out => &[(494.0, 0.45), (330.0, 0.45)],
        Cue::Stay => &[(392.0, 0.10)],
        Cue::Move => &[(392.0, 0.10), (0.0, 0.08), (392.0, 0.22)],
        Cue::Rest => &[(262.0, 0.60)],
        Cue::Done => &[
            (392.0, 0.14),
            (0.0, 0.05),
            (494.0, 0.14),
            (0.0, 0.05),
            (587.0, 0.50),
        ],
    }
}

fn write(file: &Path, tones: &[(f64, f64)]) -> Result<(), hound::Error> {
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: RATE_HZ,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut writer = hound::WavWriter::create(file, spec)?;
    for (pitch_hz, length_s) in tones {
        let count = (length_s * f64::from(RATE_HZ)).round();
        let mut at = 0.0;
        while at < count {
            let t_s = at / f64::from(RATE_HZ);
            let soft = (t_s.min(length_s - t_s) / SOFT_S).clamp(0.0, 1.0);
            let value = LOUD * soft * (std::f64::consts::TAU * pitch_hz * t_s).sin();
            #[expect(clippy::cast_possible_truncation, reason = "within the scale")]
            writer.write_sample(value.round() as i16)?;
            at += 1.0;
        }
    }
    writer.finalize()
}

#[cfg(test)]
#[cfg(unix)]
mod tests {
    use std::os::unix::fs::PermissionsExt as _;

    use super::*;

    /// A folder with a player that notes the length of what it was given.
    fn with_player(ends: &str) -> tempfile::TempDir {
        let folder = tempfile::tempdir().unwrap();
        let player = folder.path().join("aplay");
        let heard = folder.path().join("heard");
        let text = format!(
            "#!/bin/sh\n[ \"$1\" = -q ] || exit 9\nwc -c < \"$2\" >> {}\nexit {ends}\n",
            heard.display()
        );
        fs::write(&player, text).unwrap();
        fs::set_permissions(&player, fs::Permissions::from_mode(0o755)).unwrap();
        folder
    }

    /// What is played in a row, one after the other, and the fault it ends with.
    fn played(folder: &Path, cues: &[Cue]) -> (Vec<u64>, Result<(), String>) {
        let (ask, waiting) = sync_channel(cues.len());
        for cue in cues {
            ask.send(*cue).unwrap();
        }
        drop(ask);
        let ended = play_all(&[folder.to_owned()], &waiting);
        let heard = fs::read_to_string(folder.join("heard")).unwrap_or_default();
        (
            heard.lines().map(|l| l.trim().parse().unwrap()).collect(),
            ended,
        )
    }

    #[test]
    fn every_cue_is_a_sound_of_its_length() {
        let folder = with_player("0");
        let (heard, ended) = played(folder.path(), &Cue::ALL);
        assert_eq!(ended, Ok(()));
        let bytes = |cue: &Cue| {
            let length_s: f64 = tones(*cue).iter().map(|(_, s)| s).sum();
            44.0 + 2.0 * length_s * f64::from(RATE_HZ)
        };
        assert_eq!(heard.len(), Cue::ALL.len());
        for (cue, heard) in Cue::ALL.iter().zip(heard) {
            assert!((heard as f64 - bytes(cue)).abs() < 12.0, "{cue:?}: {heard}");
        }
    }

    #[test]
    fn a_lack_of_a_player_and_a_player_that_fails_are_told() {
        let empty = tempfile::tempdir().unwrap();
        let (_, ended) = played(empty.path(), &[Cue::Ready]);
        assert!(ended.unwrap_err().contains("install alsa-utils"));
        let failing = with_player("1");
        let (heard, ended) = played(failing.path(), &[Cue::Ready, Cue::Lost]);
        assert_eq!(heard.len(), 1);
        assert!(ended.unwrap_err().contains("sounds are off"));
        // Without a sound nothing is looked for, so nothing is told.
        assert_eq!(played(empty.path(), &[]), (Vec::new(), Ok(())));
    }
}
