//! A headless browser, where one is installed: what it drew, what it complained of, what it asked the network for.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use support::waiting::wait;

/// The browser's program.
pub struct Chromium {
    program: PathBuf,
    home: tempfile::TempDir,
}

/// What a run of it gave.
pub struct Looked {
    pub out: String,
    /// What a page said on its console.
    pub console: Vec<String>,
    /// Every address that was asked for by a page, other than the file itself.
    pub asked: Vec<String>,
}

impl Chromium {
    /// The browser, if there is one.
    pub fn find() -> Option<Self> {
        let path = std::env::var_os("PATH")?;
        let names = ["chromium", "chromium-browser", "google-chrome"];
        let program = std::env::split_paths(&path)
            .flat_map(|folder| names.map(|name| folder.join(name)))
            .find(|program| program.is_file())?;
        Some(Self { program, home: tempfile::tempdir().unwrap() })
    }

    /// Opens a file with these flags more.
    pub fn look(&self, file: &Path, flags: &[&str]) -> Looked {
        let own = tempfile::tempdir_in(self.home.path()).unwrap();
        let log = own.path().join("net.json");
        let [out, err] = ["out", "err"].map(|name| own.path().join(name));
        let file_of = |path: &Path| Stdio::from(std::fs::File::create(path).unwrap());
        let mut child = Command::new(&self.program)
            .args([
                "--headless",
                "--no-sandbox",
                "--disable-gpu",
                "--disable-quic",
                "--no-first-run",
                "--disable-background-networking",
                "--disable-component-update",
                "--disable-sync",
                "--disable-dev-shm-usage",
                "--hide-scrollbars",
                "--enable-logging=stderr",
                "--allow-file-access-from-files",
                "--host-resolver-rules=MAP * ~NOTFOUND",
            ])
            .arg(format!("--user-data-dir={}", own.path().join("profile").display()))
            .arg(format!("--log-net-log={}", log.display()))
            .args(flags)
            .arg(format!("file://{}", file.display()))
            .stdin(Stdio::null())
            .stdout(file_of(&out))
            .stderr(file_of(&err))
            .spawn()
            .unwrap();
        wait(|| "the browser's end".into(), || child.try_wait().unwrap());
        let read =
            |path: &Path| String::from_utf8_lossy(&std::fs::read(path).unwrap()).into_owned();
        let console =
            read(&err).lines().filter(|l| l.contains("CONSOLE")).map(str::to_owned).collect();
        Looked { out: read(&out), console, asked: asked(&read(&log)) }
    }
}

/// The addresses on a network that a page asked for, in a log that has an event a line. What the browser asks for on
/// its own behalf has no origin.
fn asked(log: &str) -> Vec<String> {
    let by_page =
        |line: &&str| line.contains("\"initiator\":") && !line.contains("\"not an origin\"");
    let url = |line: &str| Some(line.split_once("\"url\":\"")?.1.split('"').next()?.to_owned());
    log.lines().filter(by_page).filter_map(url).filter(|url| !url.starts_with("file:")).collect()
}

/// The pages of a PDF: the objects of the type Page (ISO 32000-1, 7.7.3.3), which this browser writes in plain.
pub fn pages(pdf: &[u8]) -> usize {
    let marks = [b"/Type /Page".as_slice(), b"/Type/Page".as_slice()];
    let is_page = |at: usize| {
        marks.iter().any(|mark| {
            pdf[at..].starts_with(mark) && pdf.get(at + mark.len()).is_some_and(|b| *b != b's')
        })
    };
    (0..pdf.len()).filter(|at| is_page(*at)).count()
}
