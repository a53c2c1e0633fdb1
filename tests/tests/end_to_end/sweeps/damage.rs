//! Killed at any moment, out of disk, bytes lost or turned: the next call goes on, and what is left in the end is what an undisturbed run
//! leaves, byte by byte.

use super::{Chance, Files, Study, assert_same, err, files, tossline};
use crate::command::out;
use std::fs;
use std::process::{Child, Command, Stdio};
use std::sync::OnceLock;
use std::time::{Duration, Instant};

/// Flights of the study that is disturbed.
const FLIGHTS: u32 = 300;
/// Calls that are stopped before one may come to its end.
const MOST_STOPS: u32 = 40;

fn begin(study: &Study, out: &str, threads: &str) -> Child {
    tossline()
        .args(["sweep", "--threads", threads, "--out"])
        .arg(study.path(out))
        .arg(study.path("study.json"))
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the command runs")
}

/// A study as text and as Parquet with what an undisturbed run leaves of it: flown once for all tests here.
fn undisturbed(format: &str) -> &'static (Study, Files) {
    static BOTH: [OnceLock<(Study, Files)>; 2] = [OnceLock::new(), OnceLock::new()];
    BOTH[usize::from(format == "parquet")].get_or_init(|| {
        let study = Study::new(FLIGHTS, |s| s["keep"]["format"] = format.into());
        let files = study.swept("whole", &["--threads", "2"]);
        (study, files)
    })
}

/// Stops calls of a sweep at random moments until one comes to its end, one in four by an interrupt, the others by a kill; gives how many were.
fn stopped_until_done(study: &Study, out: &str, chance: &mut Chance, longest: Duration) -> u32 {
    let mut stopped = 0;
    loop {
        let threads = ["1", "2", "7"][chance.below(3) as usize];
        let by_interrupt = chance.below(4) == 0;
        let mut child = begin(study, out, threads);
        let moment = longest.mul_f64(chance.below(1000) as f64 / 1000.0);
        let begun = Instant::now();
        let ended = loop {
            if let Some(status) = child.try_wait().expect("a child") {
                break Some(status);
            }
            if begun.elapsed() >= moment && stopped < MOST_STOPS {
                break None;
            }
            std::thread::sleep(Duration::from_millis(1));
        };
        match ended {
            Some(status) => {
                let output = child.wait_with_output().expect("a child");
                assert_eq!(status.code(), Some(0), "{}", err(&output));
                return stopped;
            }
            None if by_interrupt => {
                interrupt(&child);
                // Before it listens it is ended by the signal, and at its end it may be done.
                let output = child.wait_with_output().expect("a child");
                let code = output.status.code();
                assert!(
                    [None, Some(0), Some(130)].contains(&code),
                    "{}",
                    err(&output)
                );
                stopped += u32::from(code != Some(0));
            }
            None => {
                child.kill().expect("SIGKILL");
                child.wait().expect("a child");
                stopped += 1;
            }
        }
    }
}

fn interrupt(child: &Child) {
    let kill = Command::new("kill")
        .args(["-INT", &child.id().to_string()])
        .status()
        .unwrap();
    assert!(kill.success());
}

#[test]
fn killed_and_interrupted_at_many_random_moments() {
    let mut chance = Chance(1);
    for format in ["csv", "parquet"] {
        let (study, whole) = undisturbed(format);
        // The time of a call that flies all, on whatever machine this is: most calls get less than a third of it.
        let begun = Instant::now();
        let out = format!("timed-{format}");
        assert_same(&study.swept(&out, &["--threads", "2"]), whole, &out);
        let longest = begun.elapsed().mul_f64(0.4);
        let mut stops = 0;
        for round in 0..2 {
            let out = format!("stopped-{round}");
            stops += stopped_until_done(study, &out, &mut chance, longest);
            let after = format!("{format}, round {round}");
            assert_same(&files(&study.path(&out)), whole, &after);
        }
        assert!(
            stops >= 8,
            "only {stops} calls were stopped: the test shows little"
        );
    }
}

#[test]
fn truncated_and_turned_bytes_are_found_and_flown_again() {
    let mut chance = Chance(2);
    // Written anew at the end of every call, so that nothing has to be said of them.
    let made_anew = ["summary.json", "sample.csv", "report.html"];
    for (format, rounds) in [("csv", 6), ("parquet", 5)] {
        let study = Study::new(120, |s| s["keep"]["format"] = format.into());
        let whole = study.swept("a", &[]);
        let mut names: Vec<_> = whole
            .keys()
            .filter(|name| !whole[*name].is_empty())
            .collect();
        let (mut turned_once, mut round) = (0, 0);
        // Some files at once, until each has been damaged, and some more times.
        while turned_once < names.len() || round < rounds {
            let mut damaged = Vec::new();
            for _ in 0..3 {
                let pick = match turned_once < names.len() {
                    true => turned_once,
                    false => chance.below(names.len() as u64) as usize,
                };
                turned_once += 1;
                if damaged.iter().any(|(name, _)| *name == names[pick]) {
                    continue;
                }
                let mut bytes = whole[names[pick]].clone();
                let place = chance.below(bytes.len() as u64) as usize;
                let what = if chance.below(3) == 0 {
                    bytes.truncate(place);
                    "truncated"
                } else {
                    bytes[place] ^= 1 << chance.below(8);
                    "turned"
                };
                fs::write(study.path("a").join(names[pick]), &bytes).unwrap();
                damaged.push((names[pick], format!("{what} at {place}")));
            }
            let after = format!("{format}: {damaged:?}");
            let output = study.sweep("a", &["--threads", "2"]);
            assert_eq!(output.status.code(), Some(0), "{after}: {}", err(&output));
            assert_same(&files(&study.path("a")), &whole, &after);
            // A file cut off at a line's end looks like one that was not yet longer.
            let has_to_say = damaged.iter().any(|(name, what)| {
                let is_silent = made_anew.iter().any(|silent| name.ends_with(silent));
                !is_silent && what.starts_with("turned")
            });
            let says = err(&output);
            assert!(!has_to_say || says.contains("anew"), "{after}: {says}");
            round += 1;
        }
        // All of the flights' files at once, and a file gone.
        names.retain(|name| {
            name.to_string_lossy().contains("flights") || name.starts_with("trajectories")
        });
        for name in &names {
            let mut bytes = whole[*name].clone();
            let place = chance.below(bytes.len() as u64) as usize;
            bytes[place] ^= 0x20;
            fs::write(study.path("a").join(name), &bytes).unwrap();
        }
        fs::remove_file(study.path("a/summary.json")).unwrap();
        assert_same(&study.swept("a", &[]), &whole, "several files at once");
    }
}

#[test]
fn a_small_file_system_runs_full_and_the_sweep_goes_on_when_there_is_room() {
    let (study, whole) = undisturbed("csv");
    let binary = tossline().get_program().to_owned();
    let script = "
        mount -t tmpfs -o size=120k tmpfs \"$1\" || exit 77
        \"$2\" sweep \"$3\" --out \"$1/out\"; [ $? = 3 ] || exit 78
        mount -o remount,size=64m \"$1\" || exit 77
        \"$2\" sweep \"$3\" --out \"$1/out\" || exit 79
        cp -r \"$1/out\" \"$4\" || exit 80
        umount \"$1\"";
    let mount = study.path("small");
    fs::create_dir(&mount).unwrap();
    let output = Command::new("unshare")
        .args([
            "--user",
            "--map-root-user",
            "--mount",
            "sh",
            "-c",
            script,
            "sh",
        ])
        .arg(&mount)
        .arg(&binary)
        .args([study.path("study.json"), study.path("full")])
        .output();
    match output {
        Ok(output) if output.status.code() != Some(77) && output.status.code() != Some(1) => {
            assert_eq!(output.status.code(), Some(0), "{}", err(&output));
            assert!(err(&output).contains("make room"), "{}", err(&output));
            assert_same(&files(&study.path("full")), whole, "a full tmpfs");
        }
        // Where nobody may mount, the limit on the size of a file (below) is all that is tried.
        _ => eprintln!("no tmpfs could be mounted here"),
    }
}

#[test]
fn a_limit_on_the_size_of_a_file_ends_with_3_and_the_next_call_goes_on() {
    let (study, whole) = undisturbed("csv");
    for blocks in ["30", "90"] {
        let out = format!("limited-{blocks}");
        let output = Command::new("sh")
            .args([
                "-c",
                "trap '' XFSZ; ulimit -f $1; exec \"$2\" sweep \"$3\" --out \"$4\"",
                "sh",
                blocks,
            ])
            .arg(tossline().get_program())
            .args([study.path("study.json"), study.path(&out)])
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(3), "{}", err(&output));
        assert!(err(&output).contains("make room"), "{}", err(&output));
        assert_same(&study.swept(&out, &[]), whole, blocks);
    }
}

#[test]
fn an_interrupt_saves_what_was_in_the_air_and_says_how_to_go_on_and_a_second_run_is_refused() {
    for format in ["csv", "parquet"] {
        let (study, whole) = undisturbed(format);
        let child = begin(study, "interrupted", "1");
        // Until it flies: its plan is there. What is left takes longer than the signal.
        while !study.path("interrupted/ledger.jsonl").exists() {
            std::thread::sleep(Duration::from_millis(1));
        }
        let second = study.sweep("interrupted", &[]);
        assert_eq!(second.status.code(), Some(3), "{}", err(&second));
        assert!(err(&second).contains("another command works in this folder"));
        interrupt(&child);
        let output = child.wait_with_output().unwrap();
        assert_eq!(output.status.code(), Some(130), "{}", err(&output));
        let said = err(&output);
        assert!(said.contains("the same command goes on from there"));
        let saved: u32 = said
            .split("stopped; ")
            .nth(1)
            .and_then(|rest| rest.split(' ').next()?.parse().ok())
            .expect(&said);
        assert!(saved < FLIGHTS, "{said}");
        let again = study.sweep("interrupted", &[]);
        assert_eq!(again.status.code(), Some(0), "{}", err(&again));
        // Nothing that was saved is flown again.
        let left = format!("; {saved} are there already, {} are left.", FLIGHTS - saved);
        assert!(
            out(&again).contains(&left) || saved == 0,
            "{left}: {}",
            out(&again)
        );
        assert!(!err(&again).contains("anew"), "{}", err(&again));
        assert_same(&files(&study.path("interrupted")), whole, format);
    }
}
