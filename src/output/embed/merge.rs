//! Our properties put into a packet of XMP that somebody else wrote.
//!
//! Their packet stays as it is, byte for byte, but for a byte order mark and the properties that we
//! replace; ours follow in a description of their own. Keywords are joined;
//! caption, rating and the device stay theirs.

use std::ops::Range;

use quick_xml::NsReader;
use quick_xml::events::{BytesStart, Event};
use quick_xml::name::ResolveResult;

use super::super::xmp::{Namespace, Property, RDF, Value, description};
use super::EmbedError;

/// What is kept when it is there already.
const THEIRS: [(&str, &str); 4] = [
    (Namespace::DC.uri, "description"),
    (Namespace::XMP.uri, "Rating"),
    (Namespace::TIFF.uri, "Model"),
    (Namespace::TIFF.uri, "Make"),
];

type Name = (String, String);

/// The packet with our properties in it.
///
/// # Errors
/// [`EmbedError::Foreign`] when theirs is no XMP.
pub fn merged(theirs: &[u8], ours: &[Property]) -> Result<Vec<u8>, EmbedError> {
    let foreign = |why: &dyn std::fmt::Display| EmbedError::Foreign(why.to_string());
    let text = std::str::from_utf8(theirs).map_err(|_| foreign(&"it is not UTF-8"))?.trim_end_matches('\0');
    // The reader passes over a byte order mark without counting it.
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let found = survey(text, ours)?;
    let end = found.end.ok_or_else(|| foreign(&"it holds no RDF"))?;
    let ours: Vec<Property> = ours
        .iter()
        .filter(|p| !found.kept.contains(&(p.namespace.uri.to_owned(), p.name.to_owned())))
        .map(|p| with_keywords(p, &found.keywords))
        .collect();
    let mut out = text.to_owned();
    out.insert_str(end, &description(&ours, &found.about));
    // Everything to drop lies before the end; from behind, offsets hold.
    for (range, instead) in found.edits.into_iter().rev() {
        out.replace_range(range, &instead);
    }
    Ok(out.into_bytes())
}

/// What stands in a packet.
#[derive(Default)]
struct Found {
    /// Where the RDF ends.
    end: Option<usize>,
    /// What its descriptions are about.
    about: String,
    /// Their keywords.
    keywords: Vec<String>,
    /// Properties of theirs that ours give way to.
    kept: Vec<Name>,
    /// What is taken out, in order.
    edits: Vec<(Range<usize>, String)>,
}

fn survey(text: &str, ours: &[Property]) -> Result<Found, EmbedError> {
    let foreign = |e: quick_xml::Error| EmbedError::Foreign(e.to_string());
    let is_ours = |(uri, name): &Name| ours.iter().any(|p| p.namespace.uri == uri && p.name == name);
    let is_kept = |(uri, name): &Name| THEIRS.contains(&(uri.as_str(), name.as_str()));
    let mut found = Found::default();
    let mut reader = NsReader::from_str(text);
    // Open elements, and how deep the RDF lies among them.
    let (mut depth, mut rdf) = (0_usize, None);
    loop {
        let start = reader.buffer_position() as usize;
        let (space, event) = reader.read_resolved_event().map_err(foreign)?;
        let space = space_of(&space);
        match event {
            Event::Eof => return Ok(found),
            Event::End(_) => {
                depth = depth.saturating_sub(1);
                if rdf == Some(depth) {
                    found.end = Some(start);
                    rdf = None;
                }
            }
            Event::Start(ref e) | Event::Empty(ref e) => {
                let empty = matches!(event, Event::Empty(_));
                let name: Name = (space, e.local_name().into_inner().to_owned());
                let level = rdf.map(|at| depth - at);
                if name.0 == RDF && name.1 == "RDF" && !empty {
                    rdf = Some(depth);
                } else if level == Some(1) {
                    let tag = start..reader.buffer_position() as usize;
                    attributes(&reader, e, (tag, empty), is_ours, is_kept, &mut found);
                } else if level == Some(2) && is_ours(&name) {
                    let name_kept = is_kept(&name);
                    if name_kept {
                        found.kept.push(name.clone());
                    }
                    if !empty {
                        let span = reader.read_to_end(e.name()).map_err(foreign)?;
                        if name.0 == Namespace::DC.uri && name.1 == "subject" {
                            found.keywords.extend(items(&text[span.start as usize..span.end as usize]));
                        }
                    }
                    if !name_kept {
                        found.edits.push((start..reader.buffer_position() as usize, String::new()));
                    }
                    continue;
                }
                depth += usize::from(!empty);
            }
            _ => {}
        }
    }
}

fn space_of(space: &ResolveResult) -> String {
    match space {
        ResolveResult::Bound(n) => n.0.to_owned(),
        _ => String::new(),
    }
}

/// Properties may also stand as attributes of a description.
fn attributes(
    reader: &NsReader<&[u8]>,
    tag: &BytesStart,
    (range, empty): (Range<usize>, bool),
    is_ours: impl Fn(&Name) -> bool,
    is_kept: impl Fn(&Name) -> bool,
    found: &mut Found,
) {
    let mut rebuilt = format!("<{}", tag.name().into_inner());
    let mut dropped = false;
    for attribute in tag.attributes().flatten() {
        let (space, local) = reader.resolver().resolve_attribute(attribute.key);
        let name = (space_of(&space), local.into_inner().to_owned());
        if name == (RDF.to_owned(), "about".to_owned()) {
            found.about = attribute.value.to_string();
        }
        if is_ours(&name) && !is_kept(&name) {
            dropped = true;
            continue;
        }
        if is_ours(&name) {
            found.kept.push(name);
        }
        let quote = if attribute.value.contains('"') { '\'' } else { '"' };
        rebuilt += &format!(" {}={quote}{}{quote}", attribute.key.into_inner(), attribute.value);
    }
    if dropped {
        rebuilt += if empty { "/>" } else { ">" };
        found.edits.push((range, rebuilt));
    }
}

/// Texts of the items of an array.
fn items(inner: &str) -> Vec<String> {
    let mut reader = quick_xml::Reader::from_str(inner);
    let (mut items, mut inside) = (Vec::new(), false);
    while let Ok(event) = reader.read_event() {
        match event {
            Event::Start(e) if e.local_name().into_inner() == "li" => {
                inside = true;
                items.push(String::new());
            }
            Event::End(e) if e.local_name().into_inner() == "li" => inside = false,
            Event::Text(t) if inside => items.last_mut().into_iter().for_each(|i| i.push_str(&t)),
            Event::GeneralRef(r) if inside => {
                let text = r.resolve_char_ref().ok().flatten().map(String::from);
                let text = text.or_else(|| quick_xml::escape::resolve_predefined_entity(&r).map(str::to_owned));
                items.last_mut().into_iter().for_each(|i| i.push_str(text.as_deref().unwrap_or("\u{fffd}")));
            }
            Event::Eof => break,
            _ => {}
        }
    }
    items
}

fn with_keywords(property: &Property, theirs: &[String]) -> Property {
    match &property.value {
        Value::Bag(ours) if property.namespace == Namespace::DC && property.name == "subject" => {
            let new = ours.iter().filter(|k| !theirs.contains(k));
            Property { value: Value::Bag(theirs.iter().chain(new).cloned().collect()), ..property.clone() }
        }
        _ => property.clone(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const THEIR_PACKET: &str = r#"<?xpacket begin="" id="W5M0MpCehiHzreSzNTczkc9d"?><x:xmpmeta xmlns:x="adobe:ns:meta/"><r:RDF xmlns:r="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><r:Description r:about="uuid:1" xmlns:xap="http://ns.adobe.com/xap/1.0/" xmlns:e="http://ns.adobe.com/exif/1.0/" xap:Rating="3" e:FNumber="4/1" xap:CreateDate="2025-10-01T10:00:00"/><r:Description r:about="uuid:1" xmlns:d="http://purl.org/dc/elements/1.1/"><d:subject><r:Bag><r:li>quay &amp; pier</r:li><r:li>roll 7</r:li></r:Bag></d:subject><d:description><r:Alt><r:li xml:lang="x-default">their caption</r:li></r:Alt></d:description></r:Description></r:RDF></x:xmpmeta><?xpacket end="w"?>"#;

    fn property(namespace: Namespace, name: &'static str, value: Value) -> Property {
        Property { namespace, name, value }
    }

    #[test]
    fn theirs_stays_but_for_what_is_replaced() {
        let plain = |t: &str| Value::Plain(t.into());
        let ours = [
            property(Namespace::EXIF, "FNumber", plain("28/5")),
            property(Namespace::XMP, "Rating", plain("5")),
            property(Namespace::DC, "description", Value::Alt("ours".into())),
            property(Namespace::DC, "subject", Value::Bag(vec!["roll 7".into(), "orange filter".into()])),
        ];
        let text = String::from_utf8(merged(THEIR_PACKET.as_bytes(), &ours).unwrap()).unwrap();
        for kept in
            ["xap:Rating=\"3\"", "their caption", "xap:CreateDate=\"2025-10-01T10:00:00\"", "28/5", "orange filter"]
        {
            assert_eq!(text.matches(kept).count(), 1, "{kept}\n{text}");
        }
        assert_eq!(text.matches("roll 7").count(), 1, "{text}");
        assert!(text.contains("quay &amp; pier") && !text.contains("4/1") && !text.contains(">ours<"), "{text}");
        assert_eq!(text.matches("about=\"uuid:1\"").count(), 3, "{text}");
        // Merged with itself, nothing is added twice.
        let twice = String::from_utf8(merged(text.as_bytes(), &ours).unwrap()).unwrap();
        assert_eq!(twice.matches("28/5").count(), 1, "{twice}");
        assert_eq!(twice.matches("orange filter").count(), 1, "{twice}");
    }

    #[test]
    fn a_packet_behind_a_byte_order_mark_stays_whole() {
        let ours = [property(Namespace::EXIF, "FNumber", Value::Plain("28/5".into()))];
        let marked = merged(format!("\u{feff}{THEIR_PACKET}").as_bytes(), &ours).unwrap();
        assert_eq!(marked, merged(THEIR_PACKET.as_bytes(), &ours).unwrap());
    }

    #[test]
    fn what_is_no_xmp_is_refused() {
        for bad in ["", "<x", "<a><b/></a>", "plain words"] {
            assert!(matches!(merged(bad.as_bytes(), &[]), Err(EmbedError::Foreign(_))), "{bad}");
        }
    }
}
