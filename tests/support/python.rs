//! Packages of PyPI where Python has them: yardsticks that somebody else wrote.

use std::io::Write;
use std::process::{Command, Stdio};

const MODEL: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../plans/shop_in_simpy.py");

/// A Python that can import some modules: one made for the tests under `target` by that name, else the machine's own.
pub fn python_with(made: &str, modules: &str) -> Option<String> {
    let own = format!(concat!(env!("CARGO_MANIFEST_DIR"), "/../../target/{}/bin/python"), made);
    let has = |python: &String| {
        let import = format!("import {modules}");
        let tried = Command::new(python).args(["-c", &import]).stderr(Stdio::null()).status();
        tried.is_ok_and(|status| status.success())
    };
    [own, "python3".to_owned()].into_iter().find(has)
}

/// A Python that has SimPy.
pub fn python() -> Option<String> {
    python_with("simpy", "simpy")
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
