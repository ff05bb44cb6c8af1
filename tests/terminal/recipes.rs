//! What a recipe asks of a press beside its time.

use crate::bench::Bench;
use crate::pty::Pty;

/// A cure that wants light pressure makes no press unfit that stands at medium: it is named when the press is loaded,
/// once at each change, and the press stands so then.
#[test]
fn a_change_of_pressure_is_named_once_when_a_press_is_loaded() {
    let bench = Bench::new(1, 1);
    let text = std::fs::read_to_string(bench.recipe()).unwrap();
    let (before, after) = text.split_once("cure: (").unwrap();
    std::fs::write(bench.recipe(), format!("{before}cure: (pressure: Light, {after}")).unwrap();
    bench.take(1);
    let mut pty = Pty::board(&bench);
    let first = pty.wait_for("LOAD 1");
    assert!(first.contains("340 F medium") && !first.contains("pressure first"), "{first}");
    let press = |pty: &mut Pty, shut: &str, opened: &str| {
        pty.key(b"1");
        pty.wait_for(shut);
        pty.wait_for("OPEN 1");
        pty.key(b"1");
        pty.wait_for(opened);
    };
    press(&mut pty, "shut press 1 on A1-01: pre-press", "opened press 1: A1-01 pre-press");
    pty.key(b"\r");
    let dry = pty.wait_for("sprayed A1-01");
    assert!(!dry.contains("pressure first"), "{dry}");
    press(&mut pty, "shut press 1 on A1-01: dry", "opened press 1: A1-01 dry");
    pty.key(b"0");
    pty.wait_for("printed A1-01");
    pty.wait_for("turn it to light pressure first");
    press(&mut pty, "shut press 1 on A1-01: cure", "opened press 1: A1-01 cure");
    pty.wait_for("340 F light");
    pty.wait_saved();
    let cure = &bench.past_of("press-shut")[2];
    assert_eq!((&cure["step"], &cure["set_otherwise"]), (&"cure".into(), &serde_json::Value::Null));
    assert_eq!(pty.leave(), 0);
    bench.assert_sound();
}
