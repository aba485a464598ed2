//! Tokens as bytes. Vocabulary files write each byte as a printable character,
//! after GPT-2's table: what is printable in Latin-1 stands for itself, the rest
//! are the characters from U+0100 on, in order.

/// How many tokens are text; those after them are marks, which ggml names itself.
const TEXT_TOKENS: usize = 50_257;

/// The text tokens of `vocabulary.txt` (one a line) or `vocabulary.json` (one array).
pub(super) fn tokens(text: &str) -> Option<Vec<Vec<u8>>> {
    let names: Vec<String> = if text.trim_start().starts_with("[\"") {
        serde_json::from_str(text).ok()?
    } else {
        text.split('\n').map(|l| l.trim_end_matches('\r').to_owned()).collect()
    };
    let names = names.get(..TEXT_TOKENS)?;
    Some(names.iter().map(|n| bytes_of(n)).collect())
}

fn bytes_of(token: &str) -> Vec<u8> {
    token.chars().flat_map(|c| byte_of(c).map_or_else(|| c.to_string().into_bytes(), |b| vec![b])).collect()
}

fn byte_of(c: char) -> Option<u8> {
    let own = |b: u8| matches!(b, b'!'..=b'~' | 0xA1..=0xAC | 0xAE..=0xFF);
    match u32::from(c) {
        n @ 0..=0xFF if own(n as u8) => Some(n as u8),
        n @ 0x100..=0x143 => (0..=255u8).filter(|&b| !own(b)).nth((n - 0x100) as usize),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_byte_has_one_character() {
        let mut seen: Vec<u8> = (0..0x144).filter_map(char::from_u32).filter_map(byte_of).collect();
        seen.sort_unstable();
        assert_eq!(seen, (0..=255).collect::<Vec<u8>>());
    }

    /// The space is `Ġ` and the line feed `Ċ` in every published GPT-2 vocabulary.
    #[test]
    fn known_tokens() {
        assert_eq!(bytes_of("Ġdiligent"), b" diligent");
        assert_eq!(bytes_of("Ċ"), b"\n");
        assert_eq!(bytes_of("åľº"), "场".as_bytes());
        assert_eq!(bytes_of("<|endoftext|>"), b"<|endoftext|>");
    }
}
