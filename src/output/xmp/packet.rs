//! A packet of XMP: properties to RDF.

use std::borrow::Cow;

use quick_xml::Writer;
use quick_xml::events::attributes::Attribute;
use quick_xml::events::{BytesEnd, BytesStart, BytesText, Event};
use quick_xml::name::QName;

use super::property::{Namespace, Property, Value};

/// RDF's namespace.
pub const RDF: &str = "http://www.w3.org/1999/02/22-rdf-syntax-ns#";

type Xml = Writer<Vec<u8>>;

/// The properties as one packet, UTF-8, without padding.
pub fn packet(properties: &[Property]) -> Vec<u8> {
    format!(
        "<?xpacket begin=\"\u{feff}\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n\
         <x:xmpmeta xmlns:x=\"adobe:ns:meta/\" x:xmptk=\"spooltalk {}\">\n\
         <rdf:RDF xmlns:rdf=\"{RDF}\">\n{}\n</rdf:RDF>\n</x:xmpmeta>\n<?xpacket end=\"w\"?>\n",
        crate::VERSION,
        description(properties, "")
    )
    .into_bytes()
}

/// The properties as one description, with every namespace it needs declared in
/// it. `about` is escaped already.
pub fn description(properties: &[Property], about: &str) -> String {
    let mut xml = Writer::new_with_indent(Vec::new(), b' ', 1);
    let mut start = BytesStart::new("rdf:Description").with_attributes([("xmlns:rdf", RDF)]);
    start.push_attribute(Attribute { key: QName("rdf:about"), value: about.into() });
    for namespace in Namespace::ALL.iter().filter(|n| properties.iter().any(|p| p.namespace == **n)) {
        start.push_attribute((format!("xmlns:{}", namespace.prefix).as_str(), namespace.uri));
    }
    put(&mut xml, Event::Start(start));
    for property in properties {
        write_property(&mut xml, property);
    }
    put(&mut xml, Event::End(BytesEnd::new("rdf:Description")));
    String::from_utf8(xml.into_inner()).expect("only text is written")
}

fn write_property(xml: &mut Xml, property: &Property) {
    let name = format!("{}:{}", property.namespace.prefix, property.name);
    let array = |xml: &mut Xml, kind: &str, items: &[String], language: bool| {
        put(xml, Event::Start(BytesStart::new(name.as_str())));
        put(xml, Event::Start(BytesStart::new(kind)));
        for item in items {
            let start = BytesStart::new("rdf:li");
            leaf(xml, if language { start.with_attributes([("xml:lang", "x-default")]) } else { start }, item);
        }
        put(xml, Event::End(BytesEnd::new(kind)));
        put(xml, Event::End(BytesEnd::new(name.as_str())));
    };
    match &property.value {
        Value::Plain(text) => leaf(xml, BytesStart::new(name.as_str()), text),
        Value::Alt(text) => array(xml, "rdf:Alt", std::slice::from_ref(text), true),
        Value::Seq(items) => array(xml, "rdf:Seq", items, false),
        Value::Bag(items) => array(xml, "rdf:Bag", items, false),
    }
}

fn leaf(xml: &mut Xml, start: BytesStart, text: &str) {
    let end = start.to_end().into_owned();
    put(xml, Event::Start(start));
    put(xml, Event::Text(BytesText::new(&clean(text))));
    put(xml, Event::End(end));
}

fn put(xml: &mut Xml, event: Event) {
    xml.write_event(event).expect("a Vec takes every write");
}

/// Text with only characters that XML 1.0 takes (section 2.2), others replaced.
pub fn clean(text: &str) -> Cow<'_, str> {
    let bad =
        |c: char| matches!(c, '\0'..='\u{8}' | '\u{b}' | '\u{c}' | '\r' | '\u{e}'..='\u{1f}' | '\u{fffe}' | '\u{ffff}');
    if text.contains(bad) { text.replace(bad, "\u{fffd}").into() } else { text.into() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hostile_text_stays_text() {
        let text = "</rdf:Description><x a='1'>&amp; \0\u{1}]]> \u{ffff}";
        let property = Property { namespace: Namespace::SPOOL, name: "Remark", value: Value::Plain(text.into()) };
        let bytes = packet(&[property]);
        let mut reader = quick_xml::Reader::from_reader(bytes.as_slice());
        let (mut depth, mut deepest, mut seen) = (0, 0, String::new());
        loop {
            match reader.read_event().unwrap() {
                Event::Start(_) => depth += 1,
                Event::End(_) => depth -= 1,
                Event::Text(t) if depth == 4 => seen += &*t,
                Event::GeneralRef(r) if depth == 4 => {
                    seen += match &*r {
                        "lt" => "<",
                        "gt" => ">",
                        "amp" => "&",
                        "apos" => "'",
                        "quot" => "\"",
                        other => panic!("{other}"),
                    }
                }
                Event::Eof => break,
                _ => {}
            }
            deepest = deepest.max(depth);
        }
        assert_eq!((depth, deepest), (0, 4));
        assert_eq!(seen, "</rdf:Description><x a='1'>&amp; \u{fffd}\u{fffd}]]> \u{fffd}");
    }
}
