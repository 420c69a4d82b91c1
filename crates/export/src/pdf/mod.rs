//! A handout as a PDF document (ISO 32000-1): the pages of [`crate::handout`], set here,
//! so that nobody needs a browser's own printing for it.
//!
//! Diagrams are drawings, sharp at every size. The letters are those of Times, which
//! every reader has, and so none are in the file; what they lack is told with it.

mod set;
mod widths;

use pdf_writer::types::{LineCapStyle, LineJoinStyle};
use pdf_writer::{Content, Finish, Name, Pdf, Rect, Ref, TextStr};
use shakmaty::{Board, File, Piece as Man, Position, Rank, Role as Kind, Square};

use crate::handout::{PerPage, Piece, Told, choices, drawn_on, posed, told};
use crate::hatched::{DRAWN, Size};
use model::marks::{LineKind, Mark, split};
use model::puzzle::Puzzle;
use model::resolved::Resolved;
use model::tongue::tr;
use play::diagram;
use set::{Font, Letters, Line};

/// A4, in points.
const PAGE: (f32, f32) = (595.28, 841.89);
/// 14 mm, as on the printed page.
const MARGIN: f32 = 39.7;
const LEFT: f32 = MARGIN;
const WIDTH: f32 = PAGE.0 - 2.0 * MARGIN;
const TOP: f32 = PAGE.1 - MARGIN;
const BOTTOM: f32 = MARGIN + 8.0;

/// A handout as a document.
pub struct Document {
    /// The file.
    pub bytes: Vec<u8>,
    /// The drafts that are no puzzle, from 0.
    pub left_out: Vec<usize>,
    /// The letters that its fonts do not have, each once; a question mark stands in
    /// their place.
    pub missing: String,
}

/// The handout as a PDF document.
pub fn handout(title: &str, language: &str, drafts: &[&Resolved], per: PerPage) -> Document {
    let (puzzles, left_out) = posed(drafts);
    let mut book = Book {
        title,
        ..Book::default()
    };
    for (page, sheet) in puzzles.chunks(per.count()).enumerate() {
        book.sheet(sheet, page * per.count(), per);
    }
    book.solutions(&puzzles);
    Document {
        missing: book.letters.missing(),
        bytes: book.bound(language, per.size()),
        left_out,
    }
}

/// The pages so far, and how far down the last one is full.
#[derive(Default)]
struct Book<'a> {
    title: &'a str,
    pages: Vec<Content>,
    y: f32,
    letters: Letters,
}

impl Book<'_> {
    fn page(&mut self) -> &mut Content {
        self.pages.last_mut().expect("a page is begun first")
    }

    fn begin_page(&mut self) {
        self.pages.push(Content::new());
        self.y = TOP;
    }

    /// Sets one line, its baseline at `y`.
    fn put(&mut self, line: &Line, size: f32, x: f32, y: f32) {
        line.put(self.page(), size, x, y);
    }

    fn text(&mut self, text: &str, font: Font, size: f32, x: f32, y: f32) -> f32 {
        let line = self.letters.line(text, font);
        self.put(&line, size, x, y);
        line.width(size)
    }

    fn centred(&mut self, text: &str, font: Font, size: f32, middle: f32, y: f32) {
        let line = self.letters.line(text, font);
        self.put(&line, size, middle - line.width(size) / 2.0, y);
    }

    /// A line to write on.
    fn rule(&mut self, x: f32, y: f32, width: f32) {
        let page = self.page();
        page.set_line_width(0.6).move_to(x, y).line_to(x + width, y);
        page.stroke();
    }

    fn heading(&mut self, text: &str) {
        self.text(text, Font::Upright, 15.0, LEFT, TOP - 12.0);
        self.y = TOP - 34.0;
    }

    /// A page of diagrams with their tasks; `before` puzzles stand on those before.
    fn sheet(&mut self, puzzles: &[(Puzzle, String)], before: usize, per: PerPage) {
        const GAP: f32 = 28.0;
        self.begin_page();
        self.heading(self.title);
        let y = self.y - 8.0;
        let name = self.text(tr("Name:"), Font::Upright, 11.0, LEFT, y) + 6.0;
        let date = LEFT + 0.7 * WIDTH;
        self.rule(LEFT + name, y - 2.0, date - LEFT - name - 10.0);
        let told = self.text(tr("Date:"), Font::Upright, 11.0, date, y) + 6.0;
        self.rule(date + told, y - 2.0, LEFT + WIDTH - date - told);
        let top = y - 16.0;
        let columns = match per {
            PerPage::Two => 1,
            PerPage::Four | PerPage::Six => 2,
        };
        let side = per.size().side();
        let rows = per.count() / columns;
        let width = (WIDTH - GAP * (columns - 1) as f32) / columns as f32;
        let height = (top - BOTTOM) / rows as f32;
        for (i, (puzzle, _)) in puzzles.iter().enumerate() {
            let x = LEFT + (width + GAP) * (i % columns) as f32;
            let y = top - height * (i / columns) as f32;
            let (_, marks) = split(puzzle.words());
            let board = puzzle.start().board();
            let at = (x + (width - side) / 2.0, y);
            self.diagram(board, puzzle.black_below(), &marks, at, per.size());
            let number = format!("{}.", before + i + 1);
            let mut said = vec![(Font::Bold, number), (Font::Upright, puzzle.task())];
            said.extend(
                choices(puzzle)
                    .into_iter()
                    .map(|choice| (Font::Upright, choice)),
            );
            let mut below = y - side - 13.0;
            for line in self.letters.lines(&said, 10.5, width) {
                let left = x + (width - line.width(10.5)) / 2.0;
                self.put(&line, 10.5, left, below);
                below -= 13.0;
            }
            for line in 0..per.lines() {
                let at = below - 7.0 - 18.0 * line as f32;
                if at > y - height + 4.0 {
                    self.rule(x + 11.0, at, width - 22.0);
                }
            }
        }
    }

    /// The solutions, on pages of their own.
    fn solutions(&mut self, puzzles: &[(Puzzle, String)]) {
        self.begin_page();
        self.heading(tr("Solutions"));
        for (i, (puzzle, title)) in puzzles.iter().enumerate() {
            self.solution(puzzle, title, i + 1);
        }
    }

    fn solution(&mut self, puzzle: &Puzzle, title: &str, number: usize) {
        const LEAD: f32 = 14.0;
        let figure = Size::SMALL.side();
        let head = format!("{number}. {title}");
        let heads = self.letters.lines(&[(Font::Bold, head)], 11.5, WIDTH);
        let paragraphs: Vec<(f32, Vec<Line>)> = told(puzzle)
            .iter()
            .map(|told| self.paragraph(told))
            .collect();
        let drawn = drawn_on(puzzle);
        let rows = drawn.len().div_ceil(3) as f32;
        let lines = heads.len()
            + paragraphs
                .iter()
                .map(|(_, lines)| lines.len())
                .sum::<usize>();
        self.room(LEAD * lines as f32 + rows * (figure + 22.0) + 8.0);
        for line in heads {
            self.next_line(&line, 11.5, LEFT, LEAD + 1.0);
        }
        for (indent, lines) in paragraphs {
            for line in lines {
                self.next_line(&line, 10.5, LEFT + indent, LEAD);
            }
        }
        if !drawn.is_empty() {
            self.y -= 8.0;
        }
        for row in drawn.chunks(3) {
            self.room(figure + 22.0);
            let y = self.y;
            for (place, drawn) in row.iter().enumerate() {
                let x = LEFT + 17.0 + (figure + 17.0) * place as f32;
                let board = puzzle.position(drawn.at).board();
                let below = puzzle.black_below();
                self.diagram(board, below, &drawn.marks, (x, y), Size::SMALL);
                let moves = [(Font::Upright, drawn.moves.clone())];
                if let Some(moves) = self.letters.lines(&moves, 9.0, figure).first() {
                    let left = x + (figure - moves.width(9.0)) / 2.0;
                    self.put(moves, 9.0, left, y - figure - 10.0);
                }
            }
            self.y -= figure + 22.0;
        }
        self.y -= 10.0;
    }

    /// A paragraph's lines, and how far they are set in.
    fn paragraph(&mut self, told: &Told) -> (f32, Vec<Line>) {
        let indent = 17.0 * told.depth.min(2) as f32;
        let pieces = told.pieces.iter().map(|piece| match piece {
            Piece::Bold(said) => (Font::Bold, said.clone()),
            Piece::Slanted(said) => (Font::Slanted, said.clone()),
            Piece::Plain(said) | Piece::Words(said) => (Font::Upright, said.clone()),
        });
        let pieces: Vec<(Font, String)> = pieces.collect();
        (indent, self.letters.lines(&pieces, 10.5, WIDTH - indent))
    }

    /// Begins a page unless so much has room on this one, or would on none.
    fn room(&mut self, height: f32) {
        if self.y - height < BOTTOM && height < TOP - BOTTOM {
            self.begin_page();
        }
    }

    fn next_line(&mut self, line: &Line, size: f32, x: f32, lead: f32) {
        if self.y - lead < BOTTOM {
            self.begin_page();
        }
        self.y -= lead;
        self.put(line, size, x, self.y + 3.0);
    }

    /// A diagram of this size, its upper left corner at `at`.
    fn diagram(
        &mut self,
        board: &Board,
        black_below: bool,
        marks: &[Mark],
        at: (f32, f32),
        size: Size,
    ) {
        let s = size.side() / DRAWN;
        // The origin of the drawing is the board's corner, 21 and 8 units inside.
        let (x, y) = (at.0 + 21.0 * s, at.1 - 8.0 * s);
        let page = self.page();
        page.save_state().transform([s, 0.0, 0.0, -s, x, y]);
        page.x_object(Name(field_name(size).as_bytes()));
        for (square, man) in board.iter() {
            let (left, top) = diagram::corner(square, black_below);
            page.save_state();
            page.transform([1.0, 0.0, 0.0, 1.0, left as f32, top as f32]);
            page.x_object(Name(name(man).as_bytes())).restore_state();
        }
        for &mark in marks {
            draw(page, mark, black_below);
        }
        page.restore_state();
        // As large as on the screen, and never too small to read.
        let high = (12.5 * s).max(6.5);
        for step in 0..8 {
            let (file, rank) = (File::new(step), Rank::new(step));
            let (left, _) = diagram::corner(Square::from_coords(file, Rank::First), black_below);
            let (_, top) = diagram::corner(Square::from_coords(File::A, rank), black_below);
            let (across, down) = (left as f32 + 22.5, top as f32 + 27.0);
            let (file, rank) = (file.char().to_string(), rank.char().to_string());
            self.centred(&file, Font::Upright, high, x + s * across, y - s * 379.0);
            self.centred(&rank, Font::Upright, high, x - s * 13.5, y - s * down);
        }
    }

    /// The file.
    fn bound(mut self, language: &str, size: Size) -> Vec<u8> {
        let count = self.pages.len();
        for number in 1..=count {
            let line = self
                .letters
                .line(&format!("{number} / {count}"), Font::Upright);
            let middle = (PAGE.0 - line.width(9.0)) / 2.0;
            line.put(&mut self.pages[number - 1], 9.0, middle, 24.0);
        }
        let mut pdf = Pdf::new();
        let mut last = 0;
        let mut next = || {
            last += 1;
            Ref::new(last)
        };
        let (catalog, tree, info) = (next(), next(), next());
        let mut fields = vec![(size, next())];
        if size != Size::SMALL {
            fields.push((Size::SMALL, next()));
        }
        let fonts = Font::ALL.map(|font| (font, next()));
        let men: Vec<(Man, Ref)> = men().map(|man| (man, next())).collect();
        let leaves: Vec<(Ref, Ref)> = self.pages.iter().map(|_| (next(), next())).collect();
        pdf.document_info(info)
            .title(TextStr(self.title))
            .producer(TextStr("Keyproof"));
        let mut root = pdf.catalog(catalog);
        root.pages(tree).lang(TextStr(language));
        root.viewer_preferences().display_doc_title(true);
        root.finish();
        pdf.pages(tree)
            .kids(leaves.iter().map(|(page, _)| *page))
            .count(count as i32)
            .media_box(Rect::new(0.0, 0.0, PAGE.0, PAGE.1));
        for (font, id) in fonts {
            pdf.type1_font(id)
                .base_font(Name(font.base()))
                .encoding_predefined(Name(b"WinAnsiEncoding"));
        }
        for &(size, id) in &fields {
            pdf.form_xobject(id, &field_drawing(size))
                .bbox(Rect::new(-6.0, -6.0, 366.0, 366.0));
        }
        for &(man, id) in &men {
            pdf.form_xobject(id, &man_drawing(man))
                .bbox(Rect::new(-3.0, -3.0, 48.0, 48.0));
        }
        for (&(id, content), page) in leaves.iter().zip(self.pages) {
            pdf.stream(content, &page.finish());
            let mut leaf = pdf.page(id);
            leaf.parent(tree).contents(content);
            let mut resources = leaf.resources();
            let mut named = resources.fonts();
            for (font, id) in fonts {
                named.pair(Name(font.name()), id);
            }
            named.finish();
            let mut named = resources.x_objects();
            for &(size, id) in &fields {
                named.pair(Name(field_name(size).as_bytes()), id);
            }
            for &(man, id) in &men {
                named.pair(Name(name(man).as_bytes()), id);
            }
        }
        pdf.finish()
    }
}

/// What the empty board is called in the file.
fn field_name(size: Size) -> &'static str {
    match size {
        Size::SMALL => "Small",
        _ => "Field",
    }
}

fn men() -> impl Iterator<Item = Man> {
    let kinds = Kind::ALL.into_iter();
    kinds.flat_map(|kind| {
        [
            kind.of(shakmaty::Color::White),
            kind.of(shakmaty::Color::Black),
        ]
    })
}

/// What a man's drawing is called in the file.
fn name(man: Man) -> String {
    format!("Man{}", man.char())
}

/// The empty board: double rule as [`diagram::field`] draws it, and hatching.
fn field_drawing(size: Size) -> Vec<u8> {
    let mut page = Content::new();
    page.set_line_width(2.0)
        .rect(-5.0, -5.0, 370.0, 370.0)
        .stroke();
    page.set_line_width(0.9)
        .rect(-1.0, -1.0, 362.0, 362.0)
        .stroke();
    page.save_state();
    for square in Square::ALL.into_iter().filter(|s| s.is_dark()) {
        let (x, y) = diagram::corner(square, false);
        page.rect(x as f32, y as f32, 45.0, 45.0);
    }
    let step = size.step();
    page.clip_nonzero()
        .end_path()
        .set_line_width(size.thick() * step);
    for (near, far) in size.lines() {
        let (near, far) = (step * f32::from(near), step * f32::from(far));
        page.move_to(near, far).line_to(far, near);
    }
    page.stroke().restore_state();
    page.finish().into_vec()
}

/// A man: a halo of paper, the body, and the lines inside it.
fn man_drawing(man: Man) -> Vec<u8> {
    let (body, lines) = diagram::outline(man);
    let mut page = Content::new();
    page.set_line_join(LineJoinStyle::RoundJoin);
    page.set_line_cap(LineCapStyle::RoundCap);
    page.set_fill_gray(1.0)
        .set_stroke_gray(1.0)
        .set_line_width(5.5);
    path(&mut page, body);
    page.fill_nonzero_and_stroke();
    let (filled, inside) = man.color.fold_wb((1.0, 0.0), (0.0, 1.0));
    page.set_fill_gray(filled)
        .set_stroke_gray(0.0)
        .set_line_width(1.5);
    path(&mut page, body);
    page.fill_nonzero_and_stroke();
    page.set_stroke_gray(inside).set_line_width(1.3);
    path(&mut page, lines);
    page.stroke();
    page.finish().into_vec()
}

/// A mark over the men, on a halo of paper: solid for an answer, dashed for a try, dotted
/// for a threat.
fn draw(page: &mut Content, mark: Mark, black_below: bool) {
    let (kind, line) = match mark {
        Mark::Ring { kind, .. } => (kind, None),
        Mark::Line { from, to, kind } => (kind, Some(diagram::line(from, to, black_below))),
    };
    let shaft = |page: &mut Content| match (mark, &line) {
        (Mark::Ring { square, .. }, _) => ring(page, square, black_below),
        (_, Some((shaft, _))) => path(page, shaft),
        (_, None) => {}
    };
    let head = |page: &mut Content| {
        if let Some((_, head)) = &line {
            path(page, head);
        }
    };
    page.save_state();
    page.set_line_join(LineJoinStyle::RoundJoin);
    page.set_line_cap(LineCapStyle::RoundCap);
    page.set_stroke_gray(1.0).set_line_width(5.5);
    shaft(page);
    head(page);
    page.stroke();
    page.set_stroke_gray(0.0).set_line_width(2.6);
    head(page);
    page.stroke();
    match kind {
        LineKind::Answer => {}
        LineKind::Try => {
            page.set_dash_pattern([8.0, 6.0], 0.0);
        }
        LineKind::Threat => {
            page.set_dash_pattern([0.1, 5.6], 0.0).set_line_width(3.0);
        }
    }
    shaft(page);
    page.stroke().restore_state();
}

/// A ring in a square, of four curves: a quarter of a circle of 20 is one with handles of
/// 20 * 4/3 * tan(pi/8).
fn ring(page: &mut Content, square: Square, black_below: bool) {
    const HANDLE: f32 = 11.05 / 20.0;
    let (x, y) = diagram::corner(square, black_below);
    let (x, y) = (x as f32 + 22.5, y as f32 + 22.5);
    let (mut u, mut v) = (-20.0_f32, 0.0_f32);
    page.move_to(x + u, y + v);
    for _ in 0..4 {
        let (next_u, next_v) = (-v, u);
        page.cubic_to(
            x + u + HANDLE * next_u,
            y + v + HANDLE * next_v,
            x + next_u + HANDLE * u,
            y + next_v + HANDLE * v,
            x + next_u,
            y + next_v,
        );
        (u, v) = (next_u, next_v);
    }
}

/// Adds a path of SVG (SVG 2, 9.3) of the commands M, L, H, V, C and Z, which are all that
/// our drawings have.
fn path(page: &mut Content, drawing: &str) {
    let mut at = (0.0, 0.0);
    for (command, numbers) in steps(drawing) {
        match (command, &numbers[..]) {
            ('M', &[x, y]) => {
                page.move_to(x, y);
                at = (x, y);
            }
            ('L', points) => {
                for point in points.chunks_exact(2) {
                    at = (point[0], point[1]);
                    page.line_to(at.0, at.1);
                }
            }
            ('H', &[x]) => {
                at.0 = x;
                page.line_to(at.0, at.1);
            }
            ('V', &[y]) => {
                at.1 = y;
                page.line_to(at.0, at.1);
            }
            ('C', points) => {
                for p in points.chunks_exact(6) {
                    page.cubic_to(p[0], p[1], p[2], p[3], p[4], p[5]);
                    at = (p[4], p[5]);
                }
            }
            ('Z', _) => {
                page.close_path();
            }
            _ => debug_assert!(false, "{command} {numbers:?} is none of them"),
        }
    }
}

/// A number of a drawing, such as "-7" or "22.5". The library's way of reading one is
/// larger than all else here.
fn number(text: &str) -> f32 {
    let (sign, digits) = match text.strip_prefix('-') {
        Some(digits) => (-1.0, digits),
        None => (1.0, text),
    };
    let (mut value, mut unit) = (0.0, 0.0);
    for letter in digits.chars() {
        match letter.to_digit(10) {
            None => unit = 1.0,
            Some(digit) if unit == 0.0 => value = 10.0 * value + digit as f32,
            Some(digit) => {
                unit /= 10.0;
                value += unit * digit as f32;
            }
        }
    }
    sign * value
}

/// The commands of a path with their numbers.
fn steps(drawing: &str) -> Vec<(char, Vec<f32>)> {
    let mut steps = Vec::new();
    let mut rest = drawing.trim_start();
    while let Some(command) = rest.chars().next() {
        let numbers = &rest[1..];
        let end = numbers.find(|c: char| c.is_ascii_alphabetic());
        let (numbers, after) = numbers.split_at(end.unwrap_or(numbers.len()));
        steps.push((command, numbers.split_whitespace().map(number).collect()));
        rest = after;
    }
    steps
}

#[cfg(test)]
mod tests {
    use super::*;
    use lopdf::{Document as Read, Object};
    use model::lesson::excerpts;
    use model::pgn_read;

    /// A handout as `lopdf`, a library that shares nothing with the one that writes it,
    /// reads it: the text of each page.
    fn pages(document: &Document) -> Vec<String> {
        let read = Read::load_mem(&document.bytes).expect("a document");
        let pages = read.get_pages().into_keys();
        let text = |page| read.extract_text(&[page]).expect("a text");
        pages.map(|page| text(page).replace('\n', " ")).collect()
    }

    fn of(text: &str, per: PerPage) -> Document {
        let games = pgn_read::read(text);
        let drafts: Vec<Resolved> = games.iter().map(|g| Resolved::of(&g.draft)).collect();
        handout("Thursday – für Çelik", "de", &Vec::from_iter(&drafts), per)
    }

    const DOORS: &str = "[Event \"Two doors\"]\n[SetUp \"1\"]\n[FEN \"6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n1. Ra8# {So, and no other. Board: ring g8, dashed arrow a8 to g8.} (1. Ra7 $2 h6) *\n\n";

    #[test]
    fn tasks_come_first_and_solutions_on_pages_of_their_own() {
        let text = DOORS.repeat(5) + "[Event \"A game\"]\n\n1. e4 *\n";
        let document = of(&text, PerPage::Four);
        assert_eq!(document.left_out, [5]);
        assert_eq!(document.missing, "");
        let pages = pages(&document);
        let (tasks, answers) = pages.split_at(2);
        assert!(tasks[0].contains("Thursday – für Çelik") && tasks[0].contains("Name:"));
        for (page, numbers) in tasks.iter().zip([1..=4, 5..=5]) {
            for number in numbers {
                let task = format!("{number}. White to move and mate in one.");
                assert!(page.contains(&task), "{page}");
            }
            assert!(!page.contains("Ra8"), "{page}");
        }
        let answers = answers.concat();
        assert!(answers.contains("5. Two doors"), "{answers}");
        assert!(answers.contains("So, and no other.") && !answers.contains("Board:"));
        assert_eq!(answers.matches("1.Ra7 h6").count(), 5, "{answers}");
    }

    /// Every man of a board, and the board, is a drawing of the file that a page asks for.
    #[test]
    fn diagrams_are_drawings() {
        let document = of(DOORS, PerPage::Two);
        let read = Read::load_mem(&document.bytes).expect("a document");
        let (_, first) = read.get_pages().into_iter().next().expect("a page");
        let content = read.get_page_content(first);
        let content = lopdf::content::Content::decode(&content).expect("operations");
        let drawn = content.operations.iter().filter(|o| o.operator == "Do");
        let drawn = drawn.filter_map(|o| o.operands.first()?.as_name().ok());
        let mut drawn: Vec<String> = drawn.map(|n| String::from_utf8_lossy(n).into()).collect();
        drawn.sort();
        let men = ["ManK", "ManR", "Mank", "Manp", "Manp", "Manp"];
        assert_eq!(drawn, [&["Field"][..], &men].concat());
        let forms = read.objects.values().filter_map(|o| o.as_stream().ok());
        let forms = forms.filter(|form| {
            let kind = form.dict.get(b"Subtype").and_then(Object::as_name);
            kind.is_ok_and(|kind| kind == b"Form")
        });
        assert_eq!(forms.count(), 14);
    }

    #[test]
    fn each_question_of_a_lesson_has_its_solution() {
        let lesson = include_str!("../../../../puzzles/games/the-queen-that-waited.pgn");
        let game = Resolved::of(&pgn_read::read(lesson)[0].draft);
        let asked: Vec<Resolved> = excerpts(&game).into_iter().map(|e| e.resolved).collect();
        let document = handout("Thursday", "en", &Vec::from_iter(&asked), PerPage::Two);
        let pages = pages(&document);
        let (_, answers) = pages.split_at(asked.len().div_ceil(2));
        let answers = answers.concat();
        for (number, asked) in asked.iter().enumerate() {
            assert!(asked.clone().into_puzzle().is_ok());
            let head = format!("{}. Tomas Brill – Gus Harrowell, 2025-03-13", number + 1);
            assert!(answers.contains(&head), "{head}: {answers}");
        }
    }

    #[test]
    fn what_the_letters_lack_is_told() {
        let text = DOORS.replace("Two doors", "Łódź, 8 drzwi");
        let document = of(&text, PerPage::Six);
        assert_eq!(document.missing, "Łź");
        assert!(pages(&document).concat().contains("?ód?, 8 drzwi"));
    }

    /// Solutions longer than a page go on on the next, and nothing is lost.
    #[test]
    fn long_solutions_go_on_on_the_next_page() {
        let words = (0..2000).map(|n| format!("w{n}")).collect::<Vec<_>>();
        let text = DOORS.replace("So, and", &words.join(" "));
        let pages = pages(&of(&text, PerPage::Two));
        assert!(pages.len() > 2, "{}", pages.len());
        let all = pages.concat();
        let lost = words.iter().find(|word| !all.contains(word.as_str()));
        assert_eq!(lost, None);
    }

    #[test]
    fn numbers_of_drawings_are_read() {
        for text in ["0", "7", "-7", "22.5", "-13.25", "106.05", "40."] {
            let wanted: f32 = text.parse().expect("a number");
            assert!((number(text) - wanted).abs() < 1e-4, "{text}");
        }
    }

    /// The men are drawn by the commands that are known here.
    #[test]
    fn paths_have_no_other_commands() {
        for man in men() {
            for drawing in <[&str; 2]>::from(diagram::outline(man)) {
                assert!(!drawing.is_empty());
                let known = steps(drawing).iter().all(|(c, _)| "MLHVCZ".contains(*c));
                assert!(known, "{}: {drawing}", man.char());
            }
        }
    }
}
