//! Small pictures in the PNG format (ISO/IEC 15948), without compression.

/// Width and height, pixels.
const SIDE: usize = 24;

/// A picture that differs by its seed, and says in a comment what it is.
pub(crate) fn picture(seed: u64, comment: &str) -> Vec<u8> {
    let mut bytes = b"\x89PNG\r\n\x1a\n".to_vec();
    let side = (SIDE as u32).to_be_bytes();
    // Eight bits of grey, no interlace.
    chunk(
        &mut bytes,
        b"IHDR",
        &[&side[..], &side, &[8, 0, 0, 0, 0]].concat(),
    );
    chunk(
        &mut bytes,
        b"tEXt",
        format!("Comment\0{comment}").as_bytes(),
    );
    let mut pixels = Vec::with_capacity(SIDE * (SIDE + 1));
    for row in 0..SIDE {
        pixels.push(0);
        pixels.extend((0..SIDE).map(|column| {
            let far = (row as f64 - 11.5).hypot(column as f64 - 11.5);
            let rings = (far * (1.0 + (seed % 7) as f64 / 10.0)).sin();
            (127.0 + 90.0 * rings + (seed % 31) as f64) as u8
        }));
    }
    chunk(&mut bytes, b"IDAT", &stored(&pixels));
    chunk(&mut bytes, b"IEND", &[]);
    bytes
}

/// A zlib stream (RFC 1950) of one stored block.
fn stored(data: &[u8]) -> Vec<u8> {
    let length = data.len() as u16;
    let mut stream = vec![0x78, 0x01, 0x01];
    stream.extend(length.to_le_bytes());
    stream.extend((!length).to_le_bytes());
    stream.extend(data);
    let (mut a, mut b) = (1_u32, 0_u32);
    for byte in data {
        a = (a + u32::from(*byte)) % 65_521;
        b = (b + a) % 65_521;
    }
    stream.extend((b << 16 | a).to_be_bytes());
    stream
}

fn chunk(bytes: &mut Vec<u8>, kind: &[u8; 4], data: &[u8]) {
    bytes.extend((data.len() as u32).to_be_bytes());
    let from = bytes.len();
    bytes.extend(kind);
    bytes.extend(data);
    bytes.extend(crc32(&bytes[from..]).to_be_bytes());
}

fn crc32(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(!0_u32, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |crc, _| match crc & 1 {
            1 => crc >> 1 ^ 0xEDB8_8320,
            _ => crc >> 1,
        })
    })
}
