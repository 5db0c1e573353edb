//! Text on copper. It is copper without a net; unless the file holds the letters' polygons, a box stands in for it.

use super::Reading;
use super::fields::Unknown;
use super::frame::Frame;
use super::layers::Placed;
use crate::board::{FootprintId, Graphic, NetId};
use crate::geometry::{Point, Shape};
use crate::source::{Item, Read, Word};

/// One text in its own frame.
#[derive(Debug)]
pub(super) struct Lettering<'a> {
    head: Word<'a>,
    text: Option<Word<'a>>,
    at: Point,
    angle: f64,
    /// Opposite corners of a text box.
    corners: Option<(Point, Point)>,
    start: Option<Point>,
    /// Letter height and width, pen.
    font: (i64, i64, i64),
    /// −1 left or top, 0 middle, 1 right or bottom.
    justify: (i64, i64),
    mirrored: bool,
    hidden: bool,
    /// It has letters: a property without them is only a value.
    drawn: bool,
    letters: Vec<Vec<Point>>,
    placed: Placed,
    unknown: Vec<Unknown<'a>>,
}

impl Lettering<'_> {
    /// The text itself.
    pub(super) fn value(&self) -> String {
        self.text.map(|word| word.value().into_owned()).unwrap_or_default()
    }

    /// It may be copper.
    pub(super) const fn matters(&self) -> bool {
        self.placed.matters() || !self.placed.stated || !self.unknown.is_empty()
    }
}

impl<'a> Reading<'a> {
    pub(super) fn board_text(&mut self, head: Word<'a>) -> Read<()> {
        let text = self.lettering(head)?;
        self.put_text(&text, &Frame::BOARD, None)
    }

    /// A text whose head, and kind if it has one, was just read.
    pub(super) fn lettering(&mut self, head: Word<'a>) -> Read<Lettering<'a>> {
        let mut text = Lettering {
            head,
            text: None,
            at: Point::default(),
            angle: 0.0,
            corners: None,
            start: None,
            font: (1_000_000, 1_000_000, 150_000),
            justify: (0, 0),
            mirrored: false,
            hidden: false,
            drawn: false,
            letters: Vec::new(),
            placed: Placed::default(),
            unknown: Vec::new(),
        };
        while let Some(item) = self.cursor.next()? {
            match item {
                Item::Word(word) if text.text.is_none() => text.text = Some(word),
                Item::Word(word) => text.hidden |= word.text == "hide",
                Item::Node(child) => self.text_field(child, &mut text)?,
            }
        }
        Ok(text)
    }

    fn text_field(&mut self, child: Word<'a>, text: &mut Lettering<'a>) -> Read<()> {
        match child.text {
            "at" => {
                text.drawn = true;
                (text.at, text.angle) = self.placement()?;
            }
            "start" => text.start = Some(self.point()?),
            "end" => {
                let end = self.point()?;
                text.corners = text.start.map(|start| (start, end));
            }
            "angle" => {
                text.angle = self.cursor.number("an angle in degrees")?;
                self.cursor.leave()?;
            }
            "layer" | "layers" => self.layer_names(child, &mut text.placed)?,
            "hide" => text.hidden = self.flag()?,
            "effects" => {
                text.drawn = true;
                self.effects(text)?;
            }
            "render_cache" => self.letters(text)?,
            "tstamp" | "uuid" | "id" | "locked" | "unlocked" | "stroke" | "margins" | "border" | "pts" | "knockout"
            | "show_name" | "do_not_autoplace" => self.cursor.leave()?,
            _ => self.unknown_child(&mut text.unknown, child)?,
        }
        Ok(())
    }

    fn effects(&mut self, text: &mut Lettering<'a>) -> Read<()> {
        while let Some(item) = self.cursor.next()? {
            match item {
                Item::Word(word) => text.hidden |= word.text == "hide",
                Item::Node(child) => match child.text {
                    "hide" => text.hidden = self.flag()?,
                    "justify" => {
                        while let Some(item) = self.cursor.next()? {
                            match item {
                                Item::Word(word) => match word.text {
                                    "left" => text.justify.0 = -1,
                                    "right" => text.justify.0 = 1,
                                    "top" => text.justify.1 = -1,
                                    "bottom" => text.justify.1 = 1,
                                    "mirror" => text.mirrored = true,
                                    _ => {}
                                },
                                Item::Node(_) => self.cursor.leave()?,
                            }
                        }
                    }
                    "font" => {
                        while let Some(item) = self.cursor.next()? {
                            let Item::Node(child) = item else { continue };
                            match child.text {
                                "size" => {
                                    let height = self.cursor.length("a letter height in mm")?.max(0);
                                    let width = self.cursor.length("a letter width in mm")?.max(0);
                                    (text.font.0, text.font.1) = (height, width);
                                    self.cursor.leave()?;
                                }
                                "thickness" => text.font.2 = self.cursor.only_length("a pen width in mm")?.max(0),
                                _ => self.cursor.leave()?,
                            }
                        }
                    }
                    _ => self.cursor.leave()?,
                },
            }
        }
        Ok(())
    }

    /// `(render_cache "TEXT" ANGLE (polygon (pts …) …) …)`: the letters themselves, in board coordinates.
    fn letters(&mut self, text: &mut Lettering<'a>) -> Read<()> {
        while let Some(item) = self.cursor.next()? {
            match item {
                Item::Node(child) if child.text == "polygon" => {
                    while let Some(item) = self.cursor.next()? {
                        match item {
                            Item::Node(child) if child.text == "pts" => {
                                let mut ring = Vec::new();
                                self.points(&mut ring)?;
                                text.letters.push(ring);
                            }
                            Item::Node(_) => self.cursor.leave()?,
                            Item::Word(_) => {}
                        }
                    }
                }
                Item::Node(_) => self.cursor.leave()?,
                Item::Word(_) => {}
            }
        }
        Ok(())
    }

    /// Puts a text on copper, if it is on copper.
    pub(super) fn put_text(&mut self, text: &Lettering<'a>, frame: &Frame, footprint: Option<FootprintId>) -> Read<()> {
        self.doubt_unknown_layer(text.head.text, &text.placed);
        self.doubt_unknown("text", &text.unknown, text.placed.copper);
        if !text.placed.stated && (text.drawn || text.head.text != "property") {
            return Err(self.lacks(text.head, "layer", "(layer NAME)"));
        }
        if text.placed.copper.is_empty() || text.hidden {
            return Ok(());
        }
        let shapes = self.letter_shapes(text, frame);
        if text.letters.is_empty() {
            self.remarks.note(text.head.span(), "text on copper; a box stands in for its letters");
        }
        for layer in text.placed.copper.iter() {
            self.board.graphics.push(Graphic {
                shapes: shapes.clone(),
                layer,
                net: NetId::none(),
                footprint,
                text: true,
                span: text.head.span(),
            });
        }
        Ok(())
    }

    fn letter_shapes(&self, text: &Lettering<'a>, frame: &Frame) -> Vec<Shape> {
        if !text.letters.is_empty() {
            return text.letters.iter().map(|ring| Shape::Area { ring: ring.clone(), radius: 0 }).collect();
        }
        let area = |corners: [Point; 4], frame: &Frame, radius| {
            vec![Shape::Area { ring: corners.map(|corner| frame.place(corner)).to_vec(), radius }]
        };
        if let Some((start, end)) = text.corners {
            return area(rectangle(start, end), frame, 0);
        }
        let value = text.value();
        let longest = value.lines().map(|line| line.chars().count()).max().unwrap_or(0);
        let lines = value.lines().count().max(1);
        let (height, width, pen) = text.font;
        let count = |n: usize| i64::try_from(n.min(10_000)).unwrap_or(0);
        // Lines stand 1.6 letter heights apart: common practice of stroke fonts, no source.
        let (wide, high) = (width * count(longest), height + (count(lines) - 1) * height * 16 / 10);
        let lean = if text.mirrored { -text.justify.0 } else { text.justify.0 };
        let centre = Point::new(-lean * wide / 2, -text.justify.1 * high / 2);
        let half = Point::new(wide / 2, high / 2);
        let own = Frame::new(frame.place(text.at), text.angle);
        area(rectangle(centre - half, centre + half), &own, pen / 2)
    }
}

fn rectangle(one: Point, other: Point) -> [Point; 4] {
    [one, Point::new(other.x, one.y), other, Point::new(one.x, other.y)]
}
