//! What happens to what the class answered.

use crate::class::table::{Questions, Students};

/// A message about the class.
#[derive(Clone, Debug)]
pub enum ClassMsg {
    /// Opens its page, or leaves it.
    Open(bool),
    /// A text with accounts came: a chat, a mail, what a course exported.
    Came {
        from: String,
        text: String,
    },
    /// Turns to the answers to another lesson, by its key.
    Lesson(u32),
    Students(Students),
    Questions(Questions),
    /// Looks at a question or a student more closely, or no more.
    Closer(Option<Closer>),
    /// Draws a wrong first move on the diagram, or takes it away.
    Draw(String),
    /// Removes a student.
    Remove(usize),
    /// Removes all students of the lesson.
    RemoveAll,
    /// Makes a student's file of what was missed.
    Again(Who),
    SaveCsv,
}

/// What is looked at more closely, by its number in the lesson.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Closer {
    Question(usize),
    Student(usize),
}

/// Whose missed questions a file is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Who {
    Student(usize),
    /// Those that half of the class missed, or more.
    Half,
}
