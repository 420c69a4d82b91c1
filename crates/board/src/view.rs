//! Drawing that both boards share.
