//! The page in a real browser: nothing on the console, nothing asked of a network, at most two pages of paper,
//! nothing wider than a phone, and letters that can be read. Where no browser is installed this says so.

use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::bench::Bench;
use crate::chromium::{Chromium, pages};
use crate::sample::{bench, full_morning, must, rehearsed, write};
use crate::skipped::skipped;

/// Looks at the page from outside at a width of 360, and says what it sees in the title.
///
/// Contrast by WCAG 2.2, "relative luminance" and "contrast ratio": (L1 + 0.05) / (L2 + 0.05).
const LOOK: &str = r#"<!doctype html><title>waits</title>
<iframe id="page" src="PAGE" style="border:0;width:360px;height:900px"></iframe>
<script>
document.getElementById("page").onload = event => {
  const page = event.target.contentDocument, view = event.target.contentWindow;
  const shown = element => element.getClientRects().length > 0;
  const light = text => {
    const [r, g, b] = text.match(/[\d.]+/g).map(Number);
    const part = c => (c /= 255) <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
    return 0.2126 * part(r) + 0.7152 * part(g) + 0.0722 * part(b);
  };
  let least = 99, of = "", wide = [], texts = 0;
  for (const element of page.body.querySelectorAll("*")) {
    const box = element.getBoundingClientRect();
    if (shown(element) && !element.closest("thead") && (box.right > 360.5 || box.left < -0.5))
      wide.push(element.tagName + " " + box.right);
    const own = [...element.childNodes].some(node => node.nodeType === 3 && node.data.trim());
    if (!own || !shown(element)) continue;
    texts += 1;
    const style = view.getComputedStyle(element);
    const ink = element instanceof view.SVGElement ? style.fill : style.color;
    const ratio = 1.05 / (light(ink) + 0.05);
    if (ratio < least) { least = ratio; of = element.tagName + " " + element.textContent.slice(0, 30); }
  }
  const sections = [...page.querySelectorAll("h2")].filter(shown).map(h => h.textContent);
  document.title = JSON.stringify({
    scroll: page.documentElement.scrollWidth, body: page.body.getBoundingClientRect().width,
    wide: wide.slice(0, 5), least, of, texts, sections,
    charts: [...page.querySelectorAll("svg[role=img]")].filter(shown).length,
    fetched: view.performance.getEntriesByType("resource").length,
  });
};
</script>"#;

fn written(bench: &Bench) -> PathBuf {
    let path = bench.root.path().join("report.html");
    must(bench, &["--format", "html", "--out", path.to_str().unwrap()]);
    path
}

/// What the wrapper saw.
fn seen(chromium: &Chromium, page: &Path) -> Value {
    let wrapper = page.with_file_name("look.html");
    std::fs::write(&wrapper, LOOK.replace("PAGE", page.file_name().unwrap().to_str().unwrap()))
        .unwrap();
    let looked = chromium
        .look(&wrapper, &["--dump-dom", "--virtual-time-budget=5000", "--window-size=800,1000"]);
    let title = looked.out.split_once("<title>").unwrap().1.split_once("</title>").unwrap().0;
    let text = title
        .replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&quot;", "\"")
        .replace("&amp;", "&");
    serde_json::from_str(&text)
        .unwrap_or_else(|wrong| panic!("{text}: {wrong}; {:?}", looked.console))
}

#[test]
fn the_page_holds_in_a_real_browser() {
    let Some(chromium) = Chromium::find() else {
        return skipped("no chromium is installed");
    };
    let morning = bench();
    write(&morning, full_morning().events);
    for bench in [rehearsed("7", "60", "3"), morning] {
        let page = written(&bench);
        let pdf = bench.root.path().join("report.pdf");
        let print = format!("--print-to-pdf={}", pdf.display());
        let printed = chromium.look(&page, &[&print, "--no-pdf-header-footer"]);
        assert_eq!(printed.console, Vec::<String>::new());
        assert_eq!(printed.asked, Vec::<String>::new());
        let pages = pages(&std::fs::read(&pdf).unwrap());
        assert!((1..=3).contains(&pages), "{pages} pages of paper");
        let seen = seen(&chromium, &page);
        assert!(seen["scroll"].as_f64().unwrap() <= 360.0, "{seen}");
        assert!(seen["body"].as_f64().unwrap() <= 360.0, "{seen}");
        assert_eq!(seen["wide"], Value::from(Vec::<Value>::new()), "{seen}");
        assert!(seen["least"].as_f64().unwrap() >= 4.5, "{seen}");
        assert!(seen["texts"].as_u64().unwrap() > 100, "{seen}");
        assert_eq!((&seen["charts"], &seen["fetched"]), (&2.into(), &0.into()), "{seen}");
        assert_eq!(seen["sections"].as_array().unwrap().len(), 12, "{seen}");
    }
}

/// The browser's part of this test can fail: a page that breaks each promise is found out.
#[test]
fn a_bad_page_is_found_out() {
    let Some(chromium) = Chromium::find() else {
        return skipped("no chromium is installed");
    };
    let folder = tempfile::tempdir().unwrap();
    let page = folder.path().join("bad.html");
    let long = "<p style='break-after:page'>one</p>".repeat(4);
    let text = format!(
        "<body><p style='color:#999;width:700px'>pale and wide</p>{long}<img src='http://x.invalid/a.png'>\
         <script>console.error('oh')</script>"
    );
    std::fs::write(&page, text).unwrap();
    let pdf = folder.path().join("bad.pdf");
    let looked = chromium.look(&page, &[&format!("--print-to-pdf={}", pdf.display())]);
    assert!(looked.console.iter().any(|line| line.contains("oh")), "{:?}", looked.console);
    assert!(looked.asked.iter().any(|url| url.contains("x.invalid")), "{:?}", looked.asked);
    assert_eq!(pages(&std::fs::read(&pdf).unwrap()), 5);
    let seen = seen(&chromium, &page);
    assert!(
        seen["scroll"].as_f64().unwrap() > 360.0 && seen["least"].as_f64().unwrap() < 4.5,
        "{seen}"
    );
    assert_ne!(seen["fetched"], 0);
}
