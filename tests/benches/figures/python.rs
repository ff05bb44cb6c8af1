//! The usual Python route to the same answer: Pillow and scikit-image, both from PyPI, in a place of their own.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::time::Instant;

use serde_json::Value;

use super::art::GARMENT;
use super::measured::DWELL;
use super::row;

/// The share of printed pixels whose L* exceeds the garment's by more than 1.0, mixed as `dwell art` mixes.
const SCRIPT: &str = r"
import json, sys
import numpy as np
from PIL import Image
from skimage.color import rgb2lab

path, garment = sys.argv[1], sys.argv[2].lstrip('#')
garment = np.array([int(garment[n:n + 2], 16) for n in (0, 2, 4)], dtype=np.uint32)
rgba = np.asarray(Image.open(path).convert('RGBA'), dtype=np.uint32)
opacity = rgba[..., 3:]
seen = (rgba[..., :3] * opacity + garment * (255 - opacity) + 127) // 255
lightness = rgb2lab(seen.astype(np.uint8))[..., 0]
of_garment = rgb2lab(garment.astype(np.uint8).reshape(1, 1, 3))[0, 0, 0]
printed = rgba[..., 3] >= 128
lighter = lightness[printed] > of_garment + 1.0
print(json.dumps({'lighter_share': float(lighter.mean()), 'printed_share': float(printed.mean())}))
";

/// How many times as fast `dwell art` is at least, and how far the answers may lie apart.
const LEAST: f64 = 25.0;
const APART: f64 = 1e-4;

/// A Python with both libraries; None where they cannot be had.
fn python(there: &Path) -> Option<PathBuf> {
    let place = there.join("python");
    let worked = |command: &mut Command| {
        command.output().ok().filter(|output| output.status.success()).is_some()
    };
    let python = place.join("bin/python");
    let there = worked(Command::new("python3").args(["-m", "venv"]).arg(&place))
        && worked(Command::new(&python).args([
            "-m",
            "pip",
            "install",
            "-q",
            "pillow",
            "scikit-image",
        ]));
    there.then_some(python)
}

fn answer(output: &Output) -> Value {
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

pub fn measure(there: &Path, path: &Path, ours: f64) {
    const WHAT: &str = "beside Pillow + scikit-image, whole process";
    let Some(python) = python(there) else {
        row(WHAT, "-", "not installable here", true);
        return;
    };
    let script = there.join("share.py");
    std::fs::write(&script, SCRIPT).unwrap();
    let run = || {
        let started = Instant::now();
        let output = Command::new(&python).arg(&script).arg(path).arg(GARMENT).output().unwrap();
        (started.elapsed().as_secs_f64(), answer(&output))
    };
    // The first run reads the libraries from the disk; the second is the one that counts.
    run();
    let (theirs, wanted) = run();
    let beside =
        format!("{:.0}x as fast as its {theirs:.1} s; at least {LEAST:.0}x", theirs / ours);
    row(WHAT, &format!("{:.0} ms", ours * 1e3), &beside, theirs / ours >= LEAST);
    let output =
        Command::new(DWELL).arg("art").arg(path).args(["--garment", GARMENT, "--json"]).output();
    let found = answer(&output.unwrap());
    for name in ["lighter_share", "printed_share"] {
        let (found, wanted) = (found[name].as_f64().unwrap(), wanted[name].as_f64().unwrap());
        let apart = (found - wanted).abs();
        let beside = format!("{apart:.1e} from {wanted:.6}; at most {APART:.0e}");
        row(&format!("its {name}"), &format!("{found:.6}"), &beside, apart <= APART);
    }
}
