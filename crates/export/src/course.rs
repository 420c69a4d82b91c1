//! A lesson as a package for a course: a zip with the student's file, a page
//! that shows it and tells the course what the student does, and the paper that
//! says so to the course.
//!
//! Two published standards: SCORM 1.2 (`imsmanifest.xml`, the object `API`) and
//! cmi5 (`cmi5.xml`, xAPI statements).

use std::io::{Cursor, Write};

use zip::write::{SimpleFileOptions, ZipWriter};

use crate::html;

/// The standard that a course asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standard {
    /// SCORM 1.2 (ADL, 2001).
    Scorm12,
    /// cmi5 (AICC and ADL, 2016), which is reported by xAPI.
    Cmi5,
}

/// A lesson for a course.
#[derive(Clone, Debug)]
pub struct Course<'a> {
    /// The student's file, as [`crate::publish`] makes it.
    pub page: &'a str,
    /// What the course is called.
    pub title: &'a str,
    /// The language of the words, as BCP 47 has it (`en`).
    pub language: &'a str,
    /// The score, in per cent, from which the lesson is passed. None: it is
    /// completed when every question is done.
    pub pass: Option<u8>,
}

const PAGE: &str = include_str!("course/course.html");
const SHARED: &str = include_str!("course/course.js");
const SCORM: &str = include_str!("course/scorm.js");
const CMI5: &str = include_str!("course/cmi5.js");

impl Course<'_> {
    /// The files of the package: name and text. The first is the paper that the
    /// course reads.
    pub fn files(&self, standard: Standard) -> Vec<(&'static str, String)> {
        let (name, paper, script) = match standard {
            Standard::Scorm12 => ("imsmanifest.xml", self.manifest(), SCORM),
            Standard::Cmi5 => ("cmi5.xml", self.structure(), CMI5),
        };
        let page = PAGE
            .replace("<!--keyproof:language-->", &escape(self.language))
            .replace("<!--keyproof:script-->", &[SHARED, script].concat())
            .replace("<!--keyproof:title-->", &escape(self.title));
        vec![
            (name, paper),
            ("index.html", page),
            ("lesson.html", self.page.to_owned()),
        ]
    }

    /// The package: the bytes of a zip file.
    ///
    /// # Errors
    /// None that a package of this size can meet; the zip library's words.
    pub fn package(&self, standard: Standard) -> Result<Vec<u8>, String> {
        let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
        let options =
            SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
        for (name, text) in self.files(standard) {
            zip.start_file(name, options)
                .and_then(|()| Ok(zip.write_all(text.as_bytes())?))
                .map_err(|fault| fault.to_string())?;
        }
        let bytes = zip.finish().map_err(|fault| fault.to_string())?;
        Ok(bytes.into_inner())
    }

    /// SCORM 1.2, Content Aggregation Model: one organization, one item, one
    /// resource.
    fn manifest(&self) -> String {
        let (title, id) = (escape(self.title), self.id());
        let mastery = self.pass.map_or(String::new(), |pass| {
            format!("\n        <adlcp:masteryscore>{pass}</adlcp:masteryscore>")
        });
        format!(
            r#"<?xml version="1.0" encoding="UTF-8"?>
<manifest identifier="keyproof-{id}" version="1.0"
    xmlns="http://www.imsproject.org/xsd/imscp_rootv1p1p2"
    xmlns:adlcp="http://www.adlnet.org/xsd/adlcp_rootv1p2">
  <metadata>
    <schema>ADL SCORM</schema>
    <schemaversion>1.2</schemaversion>
  </metadata>
  <organizations default="lesson-{id}">
    <organization identifier="lesson-{id}">
      <title>{title}</title>
      <item identifier="item-{id}" identifierref="page-{id}">
        <title>{title}</title>{mastery}
      </item>
    </organization>
  </organizations>
  <resources>
    <resource identifier="page-{id}" type="webcontent" adlcp:scormtype="sco" href="index.html">
      <file href="index.html"/>
      <file href="lesson.html"/>
    </resource>
  </resources>
</manifest>
"#
        )
    }

    /// cmi5, section 13: one course of one assignable unit.
    fn structure(&self) -> String {
        let (title, id, language) = (escape(self.title), self.id(), escape(self.language));
        let mastery = self.pass.map_or(String::new(), |pass| {
            format!(" masteryScore=\"{:.2}\"", f64::from(pass) / 100.0)
        });
        let done = match self.pass {
            Some(_) => "CompletedAndPassed",
            None => "Completed",
        };
        let words = |name: &str| {
            format!("<{name}><langstring lang=\"{language}\">{title}</langstring></{name}>")
        };
        format!(
            r#"<?xml version="1.0" encoding="UTF-8"?>
<courseStructure xmlns="https://w3id.org/xapi/profiles/cmi5/v1/CourseStructure.xsd">
  <course id="urn:keyproof:course:{id}">
    {}
    {}
  </course>
  <au id="urn:keyproof:lesson:{id}" moveOn="{done}"{mastery} launchMethod="AnyWindow">
    {}
    {}
    <url>index.html</url>
  </au>
</courseStructure>
"#,
            words("title"),
            words("description"),
            words("title"),
            words("description"),
        )
    }

    /// Tells one lesson from another (FNV-1a of the page), in letters that an
    /// XML identifier may have.
    fn id(&self) -> String {
        let hash = self.page.bytes().fold(0xcbf2_9ce4_8422_2325u64, |hash, b| {
            (hash ^ u64::from(b)).wrapping_mul(0x0100_0000_01b3)
        });
        format!("{hash:016x}")
    }
}

/// Text for XML and HTML, also in attributes. What XML cannot hold is left out.
fn escape(text: &str) -> String {
    let held = |letter: &char| !matches!(letter, '\u{0}'..='\u{8}' | '\u{b}' | '\u{c}' | '\u{e}'..='\u{1f}' | '\u{fffe}' | '\u{ffff}');
    html::escape(&text.chars().filter(held).collect::<String>())
}

#[cfg(test)]
mod tests {
    use std::io::Read;

    use super::*;

    const COURSE: Course = Course {
        page: "<!DOCTYPE html>…",
        title: "Rooks & \"<files>\"\u{1}",
        language: "en",
        pass: Some(70),
    };

    #[test]
    fn a_package_holds_its_paper_and_two_pages() {
        for (standard, paper) in [
            (Standard::Scorm12, "imsmanifest.xml"),
            (Standard::Cmi5, "cmi5.xml"),
        ] {
            let bytes = COURSE.package(standard).unwrap();
            let mut zip = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
            let names: Vec<String> = zip
                .file_names()
                .map(|name| name.unwrap().into_owned())
                .collect();
            assert_eq!(names, [paper, "index.html", "lesson.html"]);
            let mut lesson = String::new();
            zip.by_name("lesson.html")
                .unwrap()
                .read_to_string(&mut lesson)
                .unwrap();
            assert_eq!(lesson, COURSE.page);
        }
    }

    #[test]
    fn what_an_author_typed_is_text() {
        for standard in [Standard::Scorm12, Standard::Cmi5] {
            let files = COURSE.files(standard);
            for (name, text) in &files[..2] {
                let title = "Rooks &amp; &quot;&lt;files&gt;&quot;";
                assert!(text.contains(title), "{name}: {text}");
                assert!(!text.contains("<files>"), "{name}");
                assert!(!text.contains("keyproof:title"), "{name}");
            }
        }
    }

    #[test]
    fn two_lessons_have_two_names() {
        let other = Course {
            page: "<!DOCTYPE html>, another",
            ..COURSE
        };
        let paper = |course: &Course| course.files(Standard::Cmi5).remove(0).1;
        assert_ne!(paper(&COURSE), paper(&other));
        assert_eq!(paper(&COURSE), paper(&COURSE.clone()));
    }

    #[test]
    fn a_pass_mark_is_said_to_the_course() {
        let easy = Course {
            pass: None,
            ..COURSE
        };
        let paper = |course: &Course, standard| course.files(standard).remove(0).1;
        let scorm = "<adlcp:masteryscore>70</adlcp:masteryscore>";
        assert!(paper(&COURSE, Standard::Scorm12).contains(scorm));
        assert!(!paper(&easy, Standard::Scorm12).contains("mastery"));
        assert!(paper(&COURSE, Standard::Cmi5).contains("masteryScore=\"0.70\""));
        assert!(paper(&easy, Standard::Cmi5).contains("moveOn=\"Completed\""));
    }
}
