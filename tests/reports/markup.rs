//! Just enough of reading a page to hold it to what it promises: its tags in order, and the texts between them.

/// A part of a page.
#[derive(Debug, Clone, PartialEq)]
pub enum Part {
    /// A tag's name, or "/name" where it closes; and what else it says.
    Tag(String, String),
    Text(String),
}

/// The parts of a page; texts with their references resolved.
pub fn parts(page: &str) -> Vec<Part> {
    let mut parts = Vec::new();
    let mut rest = page;
    while let Some((text, tail)) = rest.split_once('<') {
        push_text(&mut parts, text);
        let (tag, tail) = tail.split_once('>').expect("a tag that ends");
        let (name, attributes) = tag.split_once(char::is_whitespace).unwrap_or((tag, ""));
        parts.push(Part::Tag(name.to_ascii_lowercase(), attributes.trim_end_matches('/').into()));
        rest = tail;
    }
    push_text(&mut parts, rest);
    parts
}

fn push_text(parts: &mut Vec<Part>, text: &str) {
    if !text.trim().is_empty() {
        parts.push(Part::Text(resolved(text.trim())));
    }
}

fn resolved(text: &str) -> String {
    text.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&")
}

/// The value of an attribute.
pub fn attribute(attributes: &str, name: &str) -> Option<String> {
    let (_, rest) = attributes.split_once(&format!("{name}=\""))?;
    Some(resolved(rest.split_once('"')?.0))
}

/// The names of all opening tags, in order.
pub fn names(parts: &[Part]) -> Vec<&str> {
    let names = parts.iter().filter_map(|part| match part {
        Part::Tag(name, _) if !name.starts_with('/') => Some(name.as_str()),
        _ => None,
    });
    names.collect()
}

/// All opening tags of a name, by their attributes.
pub fn tags<'a>(parts: &'a [Part], wanted: &str) -> Vec<&'a str> {
    let tags = parts.iter().filter_map(|part| match part {
        Part::Tag(name, attributes) if name == wanted => Some(attributes.as_str()),
        _ => None,
    });
    tags.collect()
}

/// The texts inside each element of a name that is not nested in itself.
pub fn texts(parts: &[Part], wanted: &str) -> Vec<String> {
    let mut texts = Vec::new();
    let mut open: Option<String> = None;
    for part in parts {
        match part {
            Part::Tag(name, _) if name == wanted => open = Some(String::new()),
            Part::Tag(name, _) if name.strip_prefix('/') == Some(wanted) => {
                texts.extend(open.take());
            }
            Part::Text(text) => {
                if let Some(open) = &mut open {
                    if !open.is_empty() {
                        open.push(' ');
                    }
                    open.push_str(text);
                }
            }
            Part::Tag(..) => {}
        }
    }
    texts
}
