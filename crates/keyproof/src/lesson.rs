//! A lesson: a game that stops at moments and asks.

pub use model::lesson::*;
pub use moments::bring;
pub use play::walk::{Piece, Step, Walk};

#[cfg(test)]
mod tests {
    use super::*;
    use check::{Judge, Known, Soundness, check};
    use model::pgn_read;
    use model::resolved::Resolved;
    use prove::Unwatched;

    /// White overlooks the mate and plays on.
    const GAME: &str = "[Moments \"3w #1\"]\n[FEN \"r1bqk1nr/pppp1ppp/2n5/2b1p2Q/2B1P3/8/PPPP1PPP/RNB1K1NR w KQkq - 4 3\"]\n[SetUp \"1\"]\n\n3. Nf3 $2 {Not this.} (3. Qxf7# $1 {It was mate.}) 3... Qf6 4. Nc3 *";

    #[test]
    fn a_moment_is_checked_as_any_other_puzzle() {
        let game = pgn_read::read(GAME).remove(0).draft;
        let report = check(
            excerpts(&Resolved::of(&game))[0].resolved.draft(),
            &mut Known::default(),
            &mut Judge::new(1 << 20),
            &mut Unwatched,
        );
        assert_eq!(report.verdict, Soundness::Sound, "{:?}", report.findings);
    }
}
