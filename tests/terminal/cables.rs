//! A scale and a probe with a cable: a pseudo terminal's other end is the instrument, which sends its lines as a real one
//! does, again and again. Forms of lines are common practice of such instruments, no source.

use std::fs;
use std::io::Write;
use std::os::unix::fs::symlink;
use std::path::PathBuf;
use std::sync::mpsc::{Sender, channel};
use std::time::Duration;

use portable_pty::{MasterPty, PtySize, SlavePty, native_pty_system};

use crate::bench::{Bench, recipe};
use crate::pty::Pty;

/// What an instrument sends: the n-th line.
type Sends = Box<dyn Fn(u32) -> Option<Vec<u8>> + Send>;

/// An instrument and its cable.
struct Instrument {
    device: PathBuf,
    ends: Option<(Box<dyn MasterPty + Send>, Box<dyn SlavePty + Send>)>,
    sends: Option<Sender<Sends>>,
}

impl Instrument {
    /// One that is not plugged in.
    fn new(bench: &Bench, name: &str) -> Self {
        Self { device: bench.root.path().join(name), ends: None, sends: None }
    }

    /// Plugs it in; it is silent.
    fn plug(&mut self) {
        let pair = native_pty_system().openpty(PtySize::default()).unwrap();
        let mut writer = pair.master.take_writer().unwrap();
        symlink(pair.master.tty_name().unwrap(), &self.device).unwrap();
        self.ends = Some((pair.master, pair.slave));
        let (sends, told) = channel::<Sends>();
        self.sends = Some(sends);
        std::thread::spawn(move || {
            let mut now: Sends = Box::new(|_| None);
            let mut count = 0;
            loop {
                match told.recv_timeout(Duration::from_millis(100)) {
                    Ok(next) => (now, count) = (next, 0),
                    Err(std::sync::mpsc::RecvTimeoutError::Timeout) => count += 1,
                    Err(std::sync::mpsc::RecvTimeoutError::Disconnected) => return,
                }
                let Some(line) = now(count) else { continue };
                if writer.write_all(&line).and_then(|()| writer.flush()).is_err() {
                    return;
                }
            }
        });
    }

    /// Pulls the cable out.
    fn pull(&mut self) {
        self.sends = None;
        self.ends = None;
        fs::remove_file(&self.device).unwrap();
    }

    fn sends(&self, sends: impl Fn(u32) -> Option<Vec<u8>> + Send + 'static) {
        self.sends.as_ref().unwrap().send(Box::new(sends)).unwrap();
    }

    /// The same line again and again.
    fn repeats(&self, line: &str) {
        let line = format!("{line}\r\n").into_bytes();
        self.sends(move |_| Some(line.clone()));
    }

    /// One line, once.
    fn prints(&self, line: &str) {
        let line = format!("{line}\r\n").into_bytes();
        self.sends(move |n| (n == 0).then(|| line.clone()));
    }
}

/// A bench whose recipe has every garment weighed, and whose profile says this of its instruments.
fn bench_with(instruments: &str) -> Bench {
    let bench = Bench::new(2, 1);
    let weighs = recipe(1).replace("    basis:", "    weigh_every: 1,\n    basis:");
    fs::write(bench.recipe(), weighs).unwrap();
    bench.station_says(&instruments.replace("ROOT", bench.root.path().to_str().unwrap()));
    bench.take(2);
    bench
}

/// Opens the board; the first garment comes from its pre-press to the scale.
fn at_the_scale(bench: &Bench) -> Pty {
    let mut pty = Pty::board(bench);
    pty.wait_for("2 blanks");
    pty.key(b"y");
    pty.key(b"1");
    pty.wait_for("OPEN 1");
    pty.key(b"1");
    pty.wait_for("on the scale, dry");
    pty
}

fn gone(pty: &Pty, words: &str) {
    pty.wait_until(&format!("{words} is gone"), |screen| !screen.contains(words));
}

#[test]
fn a_steady_weight_is_taken_while_the_form_asks_for_it_and_never_else() {
    let bench = bench_with("scale: Some((line: \"ROOT/scale\")),");
    let mut scale = Instrument::new(&bench, "scale");
    // Not plugged in: said, and the board works.
    let mut pty = at_the_scale(&bench);
    pty.wait_for("SCALE:");
    pty.wait_for("plug its cable in, or type the");
    scale.plug();
    gone(&pty, "plug its cable in");
    // Nobody asked for these.
    scale.repeats("  140.0 g");
    std::thread::sleep(Duration::from_millis(1500));
    pty.key(b"m");
    // What lies there already is filled in and wants an Enter; what moves is not filled in.
    pty.wait_for("the scale shows 140.0 g, steady: Enter takes it");
    scale.sends(|n| Some(format!("{:.1} g\r\n", 140.1 + f64::from(n) / 10.0).into_bytes()));
    pty.wait_for("g, still moving");
    scale.repeats("0.0 g");
    pty.wait_for("0.0 g: lay the garment on it");
    // A unit of something else, and halves of lines.
    scale.repeats("12 pcs");
    pty.wait_for("it sends \"12 pcs\": set it to g, kg, oz or lb");
    scale.sends(|n| Some(if n % 2 == 0 { b"15".to_vec() } else { b"x\xff\n2.4\r\n".to_vec() }));
    pty.wait_for("compare reads, speed and frame");
    scale.repeats("ST,GS,+0152.4 g");
    pty.wait_for("A1-01 weighs 152.4 g dry");
    gone(&pty, "SCALE:");
    pty.wait_saved();
    // It goes on sending, and nobody asks.
    std::thread::sleep(Duration::from_millis(1500));
    assert_eq!(bench.past_of("weighed").len(), 1);
    // Pulled out in the middle of it, and plugged in again.
    pty.key(b"\r");
    pty.wait_for("on the scale, with its coat on");
    pty.key(b"m");
    pty.wait_for("152.4 g, steady");
    scale.pull();
    pty.wait_for("plug its cable in");
    pty.wait_for("nothing comes from the scale");
    scale.plug();
    gone(&pty, "plug its cable in");
    scale.repeats("0 g");
    pty.wait_for("lay the garment on it");
    scale.repeats("6.39 oz");
    pty.wait_for("A1-01 took 28.8 g");
    pty.wait_saved();
    let coats = bench.past_of("coat-weighed");
    assert_eq!((coats.len(), &coats[0]["before"]), (1, &"152.4 g".into()));
    assert_eq!(bench.past_of("weighed").len(), 1);
    assert_eq!(pty.leave(), 0);
    bench.assert_sound();
}

#[test]
fn what_hands_type_stays_and_one_line_by_a_key_of_the_scale_is_enough() {
    let says = "scale: Some((line: \"ROOT/scale\", reads: \"(?:(?<stable>ST)|US),GS,(?<number>[+-] *[0-9.]+)\", \
                unit: Some(\"g\"))),";
    let bench = bench_with(says);
    let mut scale = Instrument::new(&bench, "scale");
    scale.plug();
    let mut pty = at_the_scale(&bench);
    assert!(!pty.contents().contains("SCALE:"), "{}", pty.contents());
    pty.key(b"m");
    pty.wait_for("nothing comes from the scale");
    // Called unsteady by the scale itself, however long it stands.
    scale.repeats("US,GS,+ 152.4");
    pty.wait_for("152.4 g, still moving");
    std::thread::sleep(Duration::from_millis(1500));
    pty.wait_for("152.4 g, still moving");
    pty.keys("99.5");
    scale.repeats("ST,GS,+ 152.4");
    pty.wait_for("152.4 g, steady");
    pty.wait_for("99.5");
    pty.key(b"\r");
    pty.wait_for("A1-01 weighs 99.5 g dry");
    scale.sends(|_| None);
    pty.key(b"\r");
    pty.wait_for("on the scale, with its coat on");
    std::thread::sleep(Duration::from_millis(3200));
    pty.key(b"m");
    pty.wait_for("nothing comes from the scale");
    scale.prints("ST,GS,+ 128.4");
    pty.wait_for("A1-01 took 28.9 g");
    assert_eq!(pty.leave(), 0);
    bench.assert_sound();
}

#[test]
fn a_file_that_is_no_line_is_said_and_a_profile_that_makes_no_sense_is_refused() {
    let bench = bench_with("scale: Some((line: \"ROOT/scale\")),");
    fs::write(bench.root.path().join("scale"), "152.4 g\n").unwrap();
    let mut pty = at_the_scale(&bench);
    pty.wait_for("is no serial line");
    pty.key(b"m");
    pty.wait_for("nothing comes from the scale");
    pty.keys("152.4");
    pty.key(b"\r");
    pty.wait_for("A1-01 weighs 152.4 g dry");
    // The profile is read again: without the scale nothing more is said of it.
    let station = fs::read_to_string(bench.station()).unwrap();
    fs::write(
        bench.station(),
        station.replace("scale: Some((line:", "probe: Some((speed: 17, line:"),
    )
    .unwrap();
    pty.wait_for("found 17, expected one of 300");
    let (line, _) = station.split_once("presses:").unwrap();
    let scale = line.lines().find(|line| line.contains("scale:")).unwrap();
    fs::write(bench.station(), station.replace(scale, "")).unwrap();
    gone(&pty, "is no serial line");
    assert_eq!(pty.leave(), 0);
}

#[test]
fn a_probe_fills_in_the_place_that_it_is_held_to() {
    let bench = bench_with("probe: Some((line: \"ROOT/probe\", unit: Some(\"F\"))),");
    let mut probe = Instrument::new(&bench, "probe");
    probe.plug();
    let mut pty = Pty::board(&bench);
    pty.key(b"y");
    probe.repeats("TC 338.2 F");
    pty.key(b"h");
    pty.wait_for("A platen was checked");
    pty.key(b"\r");
    // What it showed before the place was chosen is none of this place.
    pty.wait_for("the probe: 338.2 F; next place");
    let mut readings = Vec::new();
    for n in 0..9 {
        let heat = format!("{}.4 F", 336 + n);
        readings.push(heat.clone());
        probe.sends(move |n| Some(format!("TC {} F\r\n", 200 + 10 * n).into_bytes()));
        pty.wait_for("still moving");
        probe.repeats(&format!("TC {heat}"));
        pty.wait_for(&format!("{heat}, steady; Enter"));
        pty.key(b"\r");
    }
    pty.key(b"+");
    pty.wait_for("platen of press 1 probed");
    pty.wait_saved();
    let probed = bench.past_of("platen-checked");
    let rows: Vec<String> = probed[0]["readings"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|row| row.as_array().unwrap())
        .map(|heat| heat.as_str().unwrap().to_owned())
        .collect();
    assert_eq!(rows, readings);
    assert_eq!(pty.leave(), 0);
}
