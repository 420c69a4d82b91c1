//! Files packed by Zstandard (RFC 8878), unpacked as they are read.

use std::io::{self, BufRead, BufReader, Read};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use zstd::stream::read::Decoder;

/// How far back a packed file may refer, as a power of two: 8 MB, which RFC 8878
/// (3.1.1.1.2) recommends as what every reader takes and no writer exceeds.
const WINDOW_LOG: u32 = 23;
/// How many times its size a packed file may become: games shrink to a tenth, and the
/// most alike of puzzles to a hundredth.
const MOST_TIMES: u64 = 1_000;
/// What any packed file may become.
const ALWAYS: u64 = 16_000_000;

/// Counts what is read.
pub struct Counted<R> {
    source: R,
    read: Arc<AtomicU64>,
}

impl<R> Counted<R> {
    pub fn new(source: R, read: Arc<AtomicU64>) -> Counted<R> {
        Counted { source, read }
    }
}

impl<R: Read> Read for Counted<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let read = self.source.read(into)?;
        self.read.fetch_add(read as u64, Ordering::Relaxed);
        Ok(read)
    }
}

/// A source as text: unpacked if it begins as a packed file does.
pub fn opened<R: Read + Send + 'static>(
    mut source: BufReader<Counted<R>>,
) -> io::Result<Box<dyn BufRead + Send>> {
    if !is_packed(source.fill_buf()?) {
        return Ok(Box::new(source));
    }
    let read = source.get_ref().read.clone();
    let mut unpacked = Decoder::with_buffer(source)?;
    unpacked.window_log_max(WINDOW_LOG)?;
    Ok(Box::new(BufReader::with_capacity(
        1 << 16,
        Bounded {
            unpacked,
            read,
            given: 0,
        },
    )))
}

/// Whether a file begins with a frame of Zstandard, or with one that is to be skipped.
fn is_packed(begin: &[u8]) -> bool {
    let number = begin.first_chunk().map(|bytes| u32::from_le_bytes(*bytes));
    number.is_some_and(|number| number == 0xFD2F_B528 || number & !0xF == 0x184D_2A50)
}

/// Refuses to become much larger than what is read.
struct Bounded<R> {
    unpacked: R,
    read: Arc<AtomicU64>,
    given: u64,
}

impl<R: Read> Read for Bounded<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let given = self.unpacked.read(into).map_err(|fault| {
            io::Error::new(fault.kind(), format!("cannot be unpacked: {fault}"))
        })?;
        self.given += given as u64;
        let read = self.read.load(Ordering::Relaxed);
        if self.given > ALWAYS && self.given / MOST_TIMES > read {
            return Err(io::Error::other(format!(
                "unpacked it takes more than {MOST_TIMES} times its size, the most that a file may \
                 (behind byte {read})"
            )));
        }
        Ok(given)
    }
}
