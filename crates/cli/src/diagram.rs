//! `keyproof diagram`: a position of a game as a picture.

use keyproof::resolved::Resolved;
use std::sync::Arc;

use keyproof::draft::{Draft, NodeId};
use keyproof::lesson::Place;
use keyproof::notation::fen;
use keyproof::picture::Picture;
use keyproof::puzzle::Stipulation;
use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree, fontdb};
use shakmaty::{Chess, Color, Position};

use crate::arguments::Diagram;
use crate::file;
use crate::input::Stream;
use crate::output::{Outcome, Trouble};

/// Writes the picture.
pub fn run(task: &Diagram) -> Result<Outcome, Trouble> {
    if task.output == task.file {
        return Err(Trouble::Input(
            "the diagram would overwrite the game: choose another -o".into(),
        ));
    }
    let file = task.file.display();
    let entry = Stream::new(std::slice::from_ref(&task.file))
        .filter_map(|item| match item {
            Ok(item) => Some(Ok(item.entry)),
            Err(told) => told.unread().map(Trouble::Input).map(Err),
        })
        .find(|item| {
            item.as_ref()
                .map_or(true, |entry| entry.index == task.game as usize)
        })
        .unwrap_or_else(|| {
            Err(Trouble::Input(format!(
                "{file}: there is no game {}",
                task.game
            )))
        })?;
    let draft = &entry.game.draft;
    let position = position(draft, task.at)
        .map_err(|why| Trouble::Input(format!("{file}, game {}: {why}", task.game)))?;
    let title = format!("{}: {}", entry.title(), fen::write(&position));
    let svg = Picture {
        board: position.board(),
        black_below: black_below(draft) != task.turned,
        coordinates: !task.no_coordinates,
        marks: &[],
        title: &title,
    }
    .svg();
    let bytes = match task.png {
        None => svg.into_bytes(),
        Some(width) => png(&svg, width, !task.no_coordinates).map_err(Trouble::Input)?,
    };
    file::write(&task.output, &bytes)?;
    eprintln!("{}", task.output.display());
    Ok(Outcome::Sound)
}

/// The position before a move of the main line; the first for `None`.
fn position(draft: &Draft, before: Option<Place>) -> Result<Chess, String> {
    let resolved = Resolved::of(draft);
    let start = resolved.start();
    let start = start.map_err(|fault| fault.reasons().join(" "))?;
    let Some(place) = before else {
        return Ok(start.clone());
    };
    let line = resolved.main_line();
    let mut positions = line.iter().filter_map(|&node| resolved.position(node));
    positions
        .find(|position| Place::of(position) == place)
        .cloned()
        .ok_or_else(|| format!("its main line does not come to {place}"))
}

/// A puzzle is shown from its solver's side, a game from White's.
fn black_below(draft: &Draft) -> bool {
    let resolution = draft.resolve();
    let asked = draft.tag("Stipulation").and_then(Stipulation::read);
    asked.is_some_and(|asked| !asked.shared())
        && resolution
            .position(NodeId::ROOT)
            .is_some_and(|start| start.turn() == Color::Black)
}

/// A square image of points. The letters of the coordinates are set in what
/// fonts the machine has.
///
/// # Errors
/// Says what is missing.
pub fn png(svg: &str, width: u32, letters: bool) -> Result<Vec<u8>, String> {
    let mut options = Options::default();
    if letters {
        let fonts = Arc::make_mut(&mut options.fontdb);
        fonts.load_system_fonts();
        let serif = ["Georgia", "Times New Roman"];
        let known = |name: &&str| {
            let query = fontdb::Query {
                families: &[fontdb::Family::Name(name)],
                ..fontdb::Query::default()
            };
            fonts.query(&query).is_some()
        };
        if !serif.iter().any(known) {
            let faces = fonts.faces().filter(|face| !face.monospaced);
            let names = faces.filter_map(|face| Some(face.families.first()?.0.clone()));
            let mut names: Vec<String> = names.collect();
            names.sort_by_key(|name| !name.contains("Serif"));
            let Some(name) = names.into_iter().next() else {
                return Err(
                    "this machine has no font for the coordinates: give --no-coordinates".into(),
                );
            };
            fonts.set_serif_family(name);
        }
    }
    let tree = Tree::from_str(svg, &options).map_err(|e| e.to_string())?;
    let mut image = Pixmap::new(width, width).ok_or("an image of that width is not possible")?;
    let scale = width as f32 / tree.size().width();
    resvg::render(
        &tree,
        Transform::from_scale(scale, scale),
        &mut image.as_mut(),
    );
    image.encode_png().map_err(|e| e.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;
    use keyproof::notation::pgn_read;
    use shakmaty::Board;

    fn drawn(board: &Board, width: u32, coordinates: bool) -> Pixmap {
        let svg = Picture {
            board,
            black_below: false,
            coordinates,
            marks: &[],
            title: "",
        }
        .svg();
        Pixmap::decode_png(&png(&svg, width, coordinates).unwrap()).unwrap()
    }

    /// How much of a square of a picture without coordinates is ink, file and
    /// rank from 0.
    fn ink(image: &Pixmap, file: u32, rank: u32) -> f64 {
        let unit = f64::from(image.width()) / 376.0;
        let (left, top) = (
            8.0 + 45.0 * f64::from(file),
            8.0 + 45.0 * f64::from(7 - rank),
        );
        let mut sum = 0.0;
        for step in 0..40 * 40 {
            let (dx, dy) = (f64::from(step % 40) + 2.5, f64::from(step / 40) + 2.5);
            let at = ((left + dx) * unit, (top + dy) * unit);
            let point = image.pixel(at.0 as u32, at.1 as u32).unwrap();
            sum += 1.0 - f64::from(point.green()) / 255.0;
        }
        sum / 1600.0
    }

    #[test]
    fn the_image_has_the_width_asked_and_its_dark_squares_are_darker() {
        let image = drawn(&Board::empty(), 752, false);
        assert_eq!((image.width(), image.height()), (752, 752));
        for file in 0..8 {
            for rank in 0..8 {
                let share = ink(&image, file, rank);
                // a1 is dark (FIDE Laws, 2.1: the near corner square to the
                // right of the player is white).
                match (file + rank) % 2 {
                    0 => assert!((0.08..0.4).contains(&share), "{file} {rank} {share}"),
                    _ => assert!(share < 0.01, "{file} {rank} {share}"),
                }
            }
        }
    }

    #[test]
    fn men_stand_where_they_belong() {
        let image = drawn(&Board::new(), 376, false);
        // The light squares of both players' first rows, b1 and e8.
        assert!(ink(&image, 1, 0) > 0.05 && ink(&image, 4, 7) > 0.25);
        assert!(ink(&image, 1, 0) < ink(&image, 4, 7));
    }

    #[test]
    fn a_position_is_named_by_the_move_to_be_played() {
        let game = &pgn_read::read("1. e4 e5 2. Nf3 Nc6 *")[0].draft;
        let at = |text: &str| position(game, Place::read(text)).map(|p| fen::write(&p));
        assert!(
            at("2w")
                .unwrap()
                .starts_with("rnbqkbnr/pppp1ppp/8/4p3/4P3/8/PPPP1PPP/RNBQKBNR w")
        );
        assert!(at("2b").unwrap().contains("5N2"));
        assert!(at("3w").is_ok());
        assert!(at("9b").unwrap_err().contains("9b"));
        assert!(!black_below(game));
    }
}
