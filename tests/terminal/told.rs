//! Somebody elsewhere is told by the profile's program: of a press that is stopped, an order that turns late, a shift that is
//! closed, with its report; and a program that fails, hangs or is not there harms nothing.

use std::path::PathBuf;

use crate::bench::Bench;
use crate::pty::Pty;

/// A bench whose program is a script that is given what it is told as "$@"; it may write into `$D`.
fn with_program(script: &str) -> (Bench, PathBuf) {
    let bench = Bench::new(2, 60);
    let notes = bench.root.path().join("notes");
    std::fs::create_dir(&notes).unwrap();
    let script = format!("D={}\n{script}", notes.display());
    bench.station_says(&format!("told: [\"/bin/sh\", \"-c\", {script:?}, \"own argument\"],"));
    (bench, notes)
}

/// Writes a line for each call, and keeps the report of the last closed shift.
const WRITES: &str = "[ -n \"$3\" ] && cp \"$3\" $D/report.html
echo \"$0|$1|$2|$3\" >> $D/calls";

fn calls(notes: &std::path::Path) -> Vec<String> {
    let read = std::fs::read_to_string(notes.join("calls")).unwrap_or_default();
    read.lines().map(str::to_owned).collect()
}

fn wait_for_call(pty: &Pty, notes: &std::path::Path, begins: &str) -> String {
    let found = || calls(notes).into_iter().find(|call| call.starts_with(begins));
    pty.wait_until(begins, |_| found().is_some());
    found().unwrap()
}

fn sign_in(pty: &mut Pty) {
    pty.key(b"b");
    pty.wait_for("Who is at the bench?");
    pty.keys("AK\r");
    pty.wait_for("AK opens the shift");
    pty.wait_saved();
}

fn close(pty: &mut Pty) {
    pty.key(b"b");
    pty.wait_for("Who is at the bench?");
    pty.key(b"+");
    pty.wait_for("Close the shift?");
    pty.key(b"y");
    pty.wait_for("shift closed");
}

fn break_press(pty: &mut Pty) {
    pty.key(b"o");
    pty.wait_for("Which press goes out of use");
    pty.key(b"2");
    pty.wait_for("Why is press 2 out of use?");
    pty.key(b"3");
}

#[test]
fn a_stopped_press_a_late_order_and_a_closed_shift_with_its_report_are_told() {
    let (bench, notes) = with_program(WRITES);
    let order = bench.root.path().join("order.ron");
    let due = "name: \"Harbour choir\", due: \"2024-06-01T10:00\",";
    std::fs::write(&order, crate::bench::order(3).replace("name: \"Harbour choir\",", due))
        .unwrap();
    assert_eq!(bench.run(&["take", order.to_str().unwrap()]).code, 0);
    let mut pty = Pty::board(&bench);
    let late = wait_for_call(&pty, &notes, "own argument|order-late|");
    assert!(
        late.contains("|Harbour choir is late: due 2024-06-01T10:00, 3 garments left|"),
        "{late}"
    );
    sign_in(&mut pty);
    break_press(&mut pty);
    let stopped = wait_for_call(&pty, &notes, "own argument|press-stopped|");
    assert!(stopped.contains("press 2") && stopped.ends_with("broken|"), "{stopped}");
    close(&mut pty);
    let closed = wait_for_call(&pty, &notes, "own argument|shift-closed|");
    let file = closed.rsplit('|').next().unwrap();
    assert!(closed.contains("|the shift of ") && file.ends_with(".html"), "{closed}");
    let report = std::fs::read_to_string(notes.join("report.html")).unwrap();
    assert!(report.starts_with("<!DOCTYPE html>") && report.contains("; AK"), "{report}");
    // It was the program's for as long as it ran.
    pty.wait_until("the file is gone", |_| !std::path::Path::new(file).exists());
    assert_eq!(calls(&notes).len(), 3, "each once: {:?}", calls(&notes));
    assert_eq!(pty.leave(), 0);
}

#[test]
fn a_program_that_fails_hangs_or_is_not_there_harms_nothing() {
    for (script, says) in
        [("exit 3", "told nobody of press-stopped"), ("echo > $D/runs; exec sleep 600", "")]
    {
        let (bench, notes) = with_program(script);
        bench.take(2);
        let mut pty = Pty::board(&bench);
        pty.wait_for("2 blanks");
        break_press(&mut pty);
        match says {
            "" => drop(pty.wait_until("it hangs", |_| notes.join("runs").exists())),
            says => drop(pty.wait_for(says)),
        }
        pty.key(b"1");
        pty.wait_for("shut press 1 on A1-01");
        pty.wait_saved();
        assert_eq!(pty.leave(), 0);
        bench.assert_sound();
    }
    let bench = Bench::new(2, 60);
    bench.station_says("told: [\"/nowhere/tell\"],");
    let mut pty = Pty::board(&bench);
    break_press(&mut pty);
    pty.wait_for("\"/nowhere/tell\" told nobody of press-stopped");
    assert_eq!(pty.leave(), 0);
}

/// A view runs no program, whatever the journal that it follows names.
#[test]
fn a_view_tells_nobody() {
    let (bench, notes) = with_program(WRITES);
    let mut pty = Pty::board(&bench);
    pty.wait_saved();
    let view = Pty::start(&bench, &["watch"], &[]);
    break_press(&mut pty);
    wait_for_call(&pty, &notes, "own argument|press-stopped|");
    view.wait_for("broken");
    assert_eq!(calls(&notes).len(), 1);
    assert_eq!(pty.leave(), 0);
}
