//! What a hand on the board means.
