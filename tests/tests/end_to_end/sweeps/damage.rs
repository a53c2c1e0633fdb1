//! Killed at any moment, out of disk, bytes lost or turned: the next call goes on, and what is left in the end is what an undisturbed run
//! leaves, byte by byte.

use super::{Chance, Study, assert_same, err, files, tossline};
use std::fs;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

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

/// Kills calls of a sweep at random moments until one comes to its end; gives how many were killed.
fn killed_until_done(study: &Study, out: &str, chance: &mut Chance, longest: Duration) -> u32 {
    let mut killed = 0;
    loop {
        let threads = ["1", "2", "7"][chance.below(3) as usize];
        let mut child = begin(study, out, threads);
        let moment = longest.mul_f64(chance.below(1000) as f64 / 1000.0);
        let begun = Instant::now();
        let ended = loop {
            if let Some(status) = child.try_wait().expect("a child") {
                break Some(status);
            }
            if begun.elapsed() >= moment && killed < 40 {
                break None;
            }
            std::thread::sleep(Duration::from_millis(1));
        };
        match ended {
            Some(status) => {
                let output = child.wait_with_output().expect("a child");
                assert_eq!(status.code(), Some(0), "{}", err(&output));
                return killed;
            }
            None => {
                child.kill().expect("SIGKILL");
                child.wait().expect("a child");
                killed += 1;
            }
        }
    }
}

#[test]
fn killed_at_many_random_moments() {
    let mut chance = Chance(1);
    let mut kills = 0;
    for format in ["csv", "parquet"] {
        let study = Study::new(300, |s| s["keep"]["format"] = format.into());
        let begun = Instant::now();
        let undisturbed = study.swept("whole", &["--threads", "2"]);
        // Most calls get less than a third of the time that a whole run takes.
        let longest = begun.elapsed().mul_f64(0.4);
        for round in 0..3 {
            let out = format!("round-{round}");
            kills += killed_until_done(&study, &out, &mut chance, longest);
            let after = format!("{format}, round {round}");
            assert_same(&files(&study.path(&out)), &undisturbed, &after);
        }
    }
    assert!(
        kills >= 12,
        "only {kills} calls were killed: the test shows little"
    );
}

#[test]
fn truncated_and_turned_bytes_are_found_and_flown_again() {
    let mut chance = Chance(2);
    for (format, rounds) in [("csv", 10), ("parquet", 8)] {
        let study = Study::new(200, |s| s["keep"]["format"] = format.into());
        let whole = study.swept("a", &[]);
        let names: Vec<_> = whole
            .keys()
            .filter(|name| !whole[*name].is_empty())
            .collect();
        // Every file once, then files by chance.
        for round in 0..rounds.max(names.len()) {
            let pick = if round < names.len() {
                round
            } else {
                chance.below(names.len() as u64) as usize
            };
            let path = study.path("a").join(names[pick]);
            let mut bytes = whole[names[pick]].clone();
            let place = chance.below(bytes.len() as u64) as usize;
            let what = if round % 3 == 2 {
                bytes.truncate(place);
                "truncated"
            } else {
                bytes[place] ^= 1 << chance.below(8);
                "turned"
            };
            fs::write(&path, &bytes).unwrap();
            let after = format!("{format}: {} {what} at {place}", names[pick].display());
            let output = study.sweep("a", &["--threads", "2"]);
            assert_eq!(output.status.code(), Some(0), "{after}: {}", err(&output));
            assert_same(&files(&study.path("a")), &whole, &after);
            // A summary is made anew each time; a file cut off at a line's end looks like one that was not yet longer.
            let is_silent = path.ends_with("summary.json") || what == "truncated";
            let says = err(&output);
            assert!(is_silent || says.contains("anew"), "{after}: {says}");
        }
        // Several at once, and a file gone.
        for name in &names {
            if name.to_string_lossy().contains("flights") || name.starts_with("trajectories") {
                let mut bytes = whole[*name].clone();
                let place = chance.below(bytes.len() as u64) as usize;
                bytes[place] ^= 0x20;
                fs::write(study.path("a").join(name), &bytes).unwrap();
            }
        }
        fs::remove_file(study.path("a/summary.json")).unwrap();
        assert_same(&study.swept("a", &[]), &whole, "several files at once");
    }
}

#[test]
fn a_small_file_system_runs_full_and_the_sweep_goes_on_when_there_is_room() {
    let study = Study::new(300, |_| {});
    let whole = study.swept("whole", &[]);
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
            assert_same(&files(&study.path("full")), &whole, "a full tmpfs");
        }
        // Where nobody may mount, the limit on the size of a file (below) is all that is tried.
        _ => eprintln!("no tmpfs could be mounted here"),
    }
}

#[test]
fn a_limit_on_the_size_of_a_file_ends_with_3_and_the_next_call_goes_on() {
    let study = Study::new(300, |_| {});
    let whole = study.swept("whole", &[]);
    for blocks in ["30", "60", "120"] {
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
        assert_same(&study.swept(&out, &[]), &whole, blocks);
    }
}

#[test]
fn an_interrupt_saves_and_says_how_to_go_on_and_a_second_run_is_refused() {
    let study = Study::new(1200, |_| {});
    let child = begin(&study, "a", "1");
    // Until rows are there; the others take far longer than the signal.
    let ledger = study.path("a/ledger.jsonl");
    while fs::metadata(&ledger).map_or(0, |about| about.len()) == 0 {
        std::thread::sleep(Duration::from_millis(2));
    }
    let second = study.sweep("a", &[]);
    assert_eq!(second.status.code(), Some(3), "{}", err(&second));
    assert!(err(&second).contains("another command works in this folder"));
    let kill = Command::new("kill")
        .args(["-INT", &child.id().to_string()])
        .status()
        .unwrap();
    assert!(kill.success());
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(130), "{}", err(&output));
    let rows = study.rows("a").len();
    assert!((1..1200).contains(&rows));
    let said = format!("{rows} flights are saved");
    assert!(err(&output).contains(&said), "{said}: {}", err(&output));
    let whole = study.swept("whole", &[]);
    assert_same(&study.swept("a", &[]), &whole, "an interrupt");
}
