//! Draws what stands on a film's edge: the maker's barcode, the camera's print.

use image::{GrayImage, Luma, imageops};
use zxingcpp::{BarcodeFormat, create, write};

/// Light film between and beside the frames of a negative.
const GROUND: Luma<u8> = Luma([205]);
const INK: Luma<u8> = Luma([50]);

/// A scan of a 35 mm frame with the film's edge, 15 pixels a millimetre: the code
/// of the frame a quarter of its length in, that of its half 19 mm on.
pub fn scan_with_code(film: &str, frame: u32) -> GrayImage {
    coded(570, &[(format!("{film}/{frame}"), 30), (format!("{film}/{frame}A"), 315)])
}

/// The same of a half frame, with one code: `12`, `12A`.
pub fn half_frame_with_code(film: &str, number: &str) -> GrayImage {
    coded(285, &[(format!("{film}/{number}"), 45)])
}

/// A picture this wide with codes, each drawn by zint (inside zxing-cpp) from this column on.
fn coded(width: u32, codes: &[(String, i64)]) -> GrayImage {
    let mut picture = GrayImage::from_pixel(width, 525, GROUND);
    view(&mut picture, (15, width - 30), (50, 425));
    for (text, x) in codes {
        let drawn = create(BarcodeFormat::DXFilmEdge).from_str(text).expect("a code");
        let symbol = drawn.to_image_with(&write().scale(6)).expect("a picture of it");
        let (w, h) = (symbol.width() as u32, symbol.height() as u32);
        let code = GrayImage::from_raw(w, h, symbol.data()).expect("all of it");
        imageops::replace(&mut picture, &code, *x, i64::from(515 - h));
    }
    picture
}

/// A strip of frames with a line of 5 × 7 dots below each, as a camera prints it.
pub fn strip_with_print(lines: &[&str]) -> GrayImage {
    const DOT: u32 = 4;
    let frame = 26 * 6 * DOT;
    let mut strip = GrayImage::from_pixel(frame * lines.len() as u32, 64 * DOT, GROUND);
    for (i, line) in lines.iter().enumerate() {
        let left = frame * i as u32;
        view(&mut strip, (left + 20, left + frame - 20), (4, 40 * DOT));
        for (place, c) in line.chars().enumerate() {
            for (row, dots) in glyph(c).into_iter().enumerate() {
                for column in (0..5).filter(|k| dots >> (4 - k) & 1 == 1) {
                    let (x, y) = (left + 60 + (6 * place as u32 + column) * DOT, (46 + row as u32) * DOT);
                    for (dx, dy) in (0..DOT).flat_map(|dx| (0..DOT).map(move |dy| (dx, dy))) {
                        strip.put_pixel(x + dx, y + dy, INK);
                    }
                }
            }
        }
    }
    imageops::blur(&strip, 1.2)
}

/// Something that looks like a picture, between these columns and rows.
fn view(picture: &mut GrayImage, (x0, x1): (u32, u32), (y0, y1): (u32, u32)) {
    for y in y0..y1 {
        for x in x0..x1 {
            let hill = if (y - y0) * 3 > (y1 - y0) + (x - x0) / 4 { 60 } else { 0 };
            picture.put_pixel(x, y, Luma([70 + hill + ((x - x0) * 60 / (x1 - x0)) as u8]));
        }
    }
}

/// Five dots a row, the highest bit on the left. The forms of the common character displays.
fn glyph(c: char) -> [u8; 7] {
    match c {
        ' ' => [0; 7],
        '.' => [0, 0, 0, 0, 0, 0b01100, 0b01100],
        '/' => [0, 0b00001, 0b00010, 0b00100, 0b01000, 0b10000, 0],
        '0' => [0b01110, 0b10001, 0b10001, 0b10001, 0b10001, 0b10001, 0b01110],
        '1' => [0b00100, 0b01100, 0b00100, 0b00100, 0b00100, 0b00100, 0b01110],
        '2' => [0b01110, 0b10001, 0b00001, 0b00010, 0b00100, 0b01000, 0b11111],
        '5' => [0b11111, 0b10000, 0b11110, 0b00001, 0b00001, 0b10001, 0b01110],
        '6' => [0b00110, 0b01000, 0b10000, 0b11110, 0b10001, 0b10001, 0b01110],
        '8' => [0b01110, 0b10001, 0b10001, 0b01110, 0b10001, 0b10001, 0b01110],
        'F' => [0b11111, 0b10000, 0b10000, 0b11110, 0b10000, 0b10000, 0b10000],
        _ => panic!("'{c}' is not drawn here"),
    }
}
