//! SimPy (PyPI) where Python has it: shared by the tests of plans and their benchmark.

use std::io::Write;
use std::process::{Command, Stdio};

const MODEL: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../plans/shop_in_simpy.py");

/// A Python that has SimPy: one made for the tests under `target`, else the machine's own.
pub fn python() -> Option<&'static str> {
    let own = concat!(env!("CARGO_MANIFEST_DIR"), "/../../target/simpy/bin/python");
    let has = |python: &&str| {
        let tried =
            Command::new(python).args(["-c", "import simpy"]).stderr(Stdio::null()).status();
        tried.is_ok_and(|status| status.success())
    };
    [own, "python3"].into_iter().find(has)
}

/// What the model in SimPy makes of a plan.
pub fn simpy(python: &str, what: &str, plan: &serde_json::Value) -> serde_json::Value {
    let mut child = Command::new(python)
        .args([MODEL, what])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(plan.to_string().as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success());
    serde_json::from_slice(&output.stdout).unwrap()
}
