//! Is a certificate a proof?

use keyproof::notation::fen;
use keyproof_certify::{Accepted, Claim, Kind, Rejected};
use serde::Serialize;
use shakmaty::CastlingMode;

/// What the independent checker says of a text of certificates.
#[derive(Clone, Debug, Serialize)]
pub struct Verification {
    /// The file it came from, if it came from one.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub file: String,
    /// `accepted` or `rejected`.
    pub status: &'static str,
    /// What is proved, if it is accepted.
    pub claims: Vec<VerifiedClaim>,
    /// Positions that were set up.
    pub positions: usize,
    /// The line that is rejected, from 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<usize>,
    /// Why it is rejected.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
    /// What was accepted, in sentences.
    #[serde(skip)]
    pub sentences: Vec<String>,
}

/// Something that is proved.
#[derive(Clone, Debug, Serialize)]
pub struct VerifiedClaim {
    /// The position.
    pub fen: String,
    /// `mate`: the move forces it; `only`: no other move does; `draw`: the move holds.
    pub kind: &'static str,
    /// Within so many moves.
    pub mate: usize,
    /// The moves, in UCI.
    pub moves: Vec<String>,
}

/// Puts a text of certificates to the independent checker, or those that a published page
/// carries.
pub fn verify(text: &str) -> Verification {
    Verification::of(&keyproof_certify::verify(carried(text).unwrap_or(text)))
}

/// The certificates that a published page carries. They hold nothing that a
/// page would write otherwise.
fn carried(page: &str) -> Option<&str> {
    let (_, rest) = page.split_once(" id=\"keyproof-certificates\">\n")?;
    rest.split_once("</script>").map(|(text, _)| text)
}

impl Verification {
    fn of(found: &Result<Accepted, Rejected>) -> Verification {
        let mut row = Verification {
            file: String::new(),
            status: "rejected",
            claims: Vec::new(),
            positions: 0,
            line: None,
            reason: None,
            sentences: Vec::new(),
        };
        match found {
            Ok(accepted) => {
                row.status = "accepted";
                row.claims = accepted.claims.iter().map(VerifiedClaim::new).collect();
                row.positions = accepted.positions;
                row.sentences = accepted.claims.iter().map(Claim::to_string).collect();
            }
            Err(rejected) => {
                row.line = Some(rejected.line);
                row.reason = Some(rejected.reason.clone());
                row.sentences = vec![rejected.to_string()];
            }
        }
        row
    }

    /// Whether it is a proof.
    pub fn is_accepted(&self) -> bool {
        self.line.is_none()
    }
}

impl VerifiedClaim {
    fn new(claim: &Claim) -> VerifiedClaim {
        let uci = |m: &shakmaty::Move| m.to_uci(CastlingMode::Standard).to_string();
        VerifiedClaim {
            fen: fen::write(&claim.position),
            kind: match claim.kind {
                Kind::Forces => "mate",
                Kind::Only => "only",
                Kind::Draws => "draw",
            },
            mate: claim.moves,
            moves: claim.firsts.iter().map(uci).collect(),
        }
    }
}
