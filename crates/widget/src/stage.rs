//! A coach before his group: what the room may see, and when. Plain Rust
//! without a browser.

/// What the coach does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cue {
    /// Take the stage, or leave it.
    Stage,
    /// Start the clock, or stop it and put it back.
    Clock,
    /// Take up the pencil, or lay it down and wipe the board.
    Pencil,
}

/// The stage.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Stage {
    pub on: bool,
    pub pencil: bool,
    /// When the clock was started, in milliseconds of the browser's time.
    pub started: Option<u64>,
}

impl Stage {
    /// Follows a cue given at `now`, in milliseconds.
    pub fn take(&mut self, cue: Cue, now: u64) {
        match cue {
            Cue::Stage => {
                *self = Stage {
                    on: !self.on,
                    ..Stage::default()
                }
            }
            _ if !self.on => {}
            Cue::Clock if self.started.is_some() => self.started = None,
            Cue::Clock => self.started = Some(now),
            Cue::Pencil => self.pencil = !self.pencil,
        }
    }

    /// The time since the clock was started: `2:05`.
    pub fn clock(&self, now: u64) -> Option<String> {
        let seconds = now.saturating_sub(self.started?) / 1000;
        let (minutes, seconds) = (seconds / 60, seconds % 60);
        let zero = if seconds < 10 { "0" } else { "" };
        Some([&minutes.to_string(), ":", zero, &seconds.to_string()].concat())
    }
}

/// What a key does on the stage, by the name of the button that does it.
/// Page Down and Page Up are what a presenter's remote sends, or arrows.
pub fn key(key: &str) -> Option<&'static str> {
    Some(match key {
        "PageDown" | "ArrowRight" | "ArrowDown" | " " => "forth",
        "PageUp" | "ArrowLeft" | "ArrowUp" => "back",
        "c" => "clock",
        "p" => "pencil",
        "t" => "turn",
        "Escape" => "stage",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_pencil_is_the_stages() {
        let mut stage = Stage::default();
        stage.take(Cue::Pencil, 0);
        assert_eq!(stage, Stage::default());
        stage.take(Cue::Stage, 0);
        stage.take(Cue::Pencil, 0);
        assert!(stage.on && stage.pencil);
        stage.take(Cue::Stage, 0);
        assert_eq!(stage, Stage::default());
    }

    #[test]
    fn the_clock_starts_stops_and_starts_anew() {
        let mut stage = Stage::default();
        stage.take(Cue::Stage, 0);
        assert_eq!(stage.clock(9_000), None);
        stage.take(Cue::Clock, 5_000);
        assert_eq!(stage.clock(130_999).as_deref(), Some("2:05"));
        stage.take(Cue::Clock, 140_000);
        assert_eq!(stage.clock(150_000), None);
        stage.take(Cue::Clock, 150_000);
        assert_eq!(stage.clock(150_000).as_deref(), Some("0:00"));
    }
}
