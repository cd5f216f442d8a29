//! What stands below the help of each command.

pub(super) const EXAMPLES: &str = "\
Examples:
  legraise simulate demo                          write an invented data set to try things on
  legraise replay demo                            a table of all its raises
  legraise replay demo/sub-marbul --json          one client, for other programs
  legraise tilt FILE_motion.tsv > tilt.csv        one sensor's orientation over time
  legraise cautions                               when not to test, and when to stop

Exit status: 0 done; 1 a recording could not be analysed (the others are printed); 2 wrong usage.

Shows and records the angle to which a straight leg is raised;
it does not diagnose, predict, treat or decide.";

pub(super) const REPLAY_EXAMPLES: &str = "\
A PATH is a file, a run's folder, a client or a whole data set. Below a folder all task-legraise
runs count; a file of another task only when it is named itself. Any file of a run names the whole
run. Runs are calibrated by the flat recordings (task-flat) of their session, wherever the PATH
points.

Examples:
  legraise replay data                            every run of a data set, as a table
  legraise replay data/sub-marbul/ses-01          one visit
  legraise replay data --json > angles.json       one JSON object, for other programs
  legraise replay data --json --budget            with the parts of every uncertainty
  legraise replay data --jobs 1 -q                on one core, only errors told

Exit status: 0 done; 1 a recording, or a sensor's file of it, could not be read or analysed, or none
was found; 2 a PATH that isn't there, or wrong usage.";

pub(super) const PACE_EXAMPLES: &str = "\
Examples:
  legraise pace                                   the drills there are
  legraise pace calves-up-long-breath --reps 8    as it is done, breath by breath
  legraise pace my-drill.toml --at-once           all of it now, to check a drill of your own
  legraise pace calves-up-long-breath --phone     on the client's phone as well

A drill's file is described in docs/casebook.md. Stop at pain, tingling or numbness.";

pub(super) const TILT_EXAMPLES: &str = "\
Prints `t_s,w,x,y,z`, a row for each sample that was accepted: the unit quaternion that turns sensor
axes into earth axes (v_earth = q v_sensor q*), earth with z up and an arbitrary heading. It knows
nothing of legs.

Examples:
  legraise tilt sub-01_task-legraise_tracksys-shinright_run-01_motion.tsv > tilt.csv
  legraise tilt recording_motion.tsv --live       the causal filter: each row uses only the rows before it
  legraise tilt recording_motion.tsv --point foot one of several sensors in a file

Exit status: 0 done; 1 the file can't be read; 2 it isn't there, or wrong usage.";

pub(super) const LIVE_EXAMPLES: &str = "\
A source is PLACEMENT=SELECTOR. Placements: shinleft, shinright, thighleft, thighright, pelvis; at
least one shin. Selectors:
  ble:PROFILE[,name=NAME][,rate=HZ]     a sensor over Bluetooth; PROFILE is a file, or the name of a
                                        shipped one (`legraise profile list`)
  phone:                                a phone strapped to the leg, through a page
  file:FILE[,fast]                      a recording, played again
  synthetic:KIND[,seed=N][,fast]        an invented person whose KIND is slow, brisk or compensating;
                                        the first shin named is the one raised
With `fast` the readings come at once instead of in real time.

With --json a line is {t_s, side, angle_deg, uncertainty_deg, state, flags}. Readings are
provisional: `legraise replay` gives the results of what --data recorded.

Examples:
  legraise live shinright=synthetic:slow          the angle, rewritten in place
  legraise live shinright=synthetic:slow,seed=3 shinleft=synthetic:slow,seed=3 --json
  legraise live shinright=synthetic:brisk,fast --json --seconds 60 --data recorded

Exit status: 0 done, also where the reader of the output has gone; 1 it could not be recorded;
2 wrong usage.";

pub(super) const CALIBRATE_EXAMPLES: &str = "\
Lay the sensor on a hard, flat surface, face after face, three seconds each: two opposite faces give
the offset of one axis, all six give offset and scale of all three. The order is free, the surface
need not be level. The recording calibrates every run of the same visit.

Examples:
  legraise calibrate shinright=ble:open-motion --data clinic --client c07 --visit 03
  legraise calibrate shinright=synthetic:slow,fast --faces 2 --data recorded

Exit status: 0 it can be used; 1 it can't, or could not be recorded; 2 wrong usage.";

#[cfg(feature = "ble")]
pub(super) const SENSORS_EXAMPLES: &str = "\
Nothing is opened. What is of a known kind is listed with the words that open it; the other devices
with why they are of no use.

Examples:
  legraise sensors                                what is near
  legraise sensors --profile my.toml              with a profile of your own

Exit status: 0 done; 1 there is no Bluetooth here that may be used; 2 wrong usage.";

pub(super) const SIMULATE_EXAMPLES: &str = "\
Four invented people over some weeks: stiff, average, very mobile, and one whose other leg gives
way. The recordings are written as a BIDS-Motion data set, read back, analysed, and the results put
under derivatives/legraise. The same version writes the same files. DIR must be new or empty.

Example:
  legraise simulate demo && legraise replay demo";

pub(super) const PROFILE_EXAMPLES: &str = "\
A sensor profile says how a kind of Bluetooth sensor is found, started and decoded. PROFILE is a
TOML file, or the name of one that comes with the program. docs/sensor-profiles.md has all keys.

Examples:
  legraise profile list                           those that come with the program
  legraise profile show example-notify > my.toml  one of them, to copy from
  legraise profile check my.toml                  what is wrong in it, with line and mend
  legraise profile decode my.toml 'fe 00 08 00'   what a packet says; see its own help

Exit status: 0 done; 1 the profile can't be used, or a packet was left out; 2 it isn't there, or
wrong usage.";

pub(super) const DECODE_EXAMPLES: &str = "\
Each PACKET is one notification in hex; bytes may be separated by spaces, commas, dashes or bars.
Before it may stand `@SECONDS`, when it arrived, and the stream's id or the characteristic's UUID
with a colon, which is needed where a profile has several. A value that was read from the device is
given the same way, with the UUID or the name of its [[read]]. `-` reads lines from standard input,
a packet each; blank lines and all after # are skipped.

Examples:
  legraise profile decode my.toml 'fe 00 08 00 f0 00 1c 8f 02 e1 fa ae 07'
  legraise profile decode two.toml 'acc: a0 0f 00 10 00 e0 00 38' 'gyro: a2 0f 48 01 71 fd d7 03'
  legraise profile decode open-motion --rate 200 --json - < dump.txt

Exit status: 0 done; 1 the profile can't be used, or a packet was left out; 2 it isn't there, no
hex, or wrong usage.";
