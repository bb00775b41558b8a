//! What of notes, directions, sounds and barlines is left out of an unrolled score: the signs of the road, and what is for other passes.

use std::ops::Range;

use super::part::{Cut, Item, Reading, When};
use super::tree::Node;
use crate::words::{CODA, Phrase, SEGNO, lead_to_coda, phrases};

/// The attributes of `sound` and `barline` that say where the road goes.
const ROAD: [&str; 9] = [
    "dacapo",
    "dalsegno",
    "segno",
    "tocoda",
    "coda",
    "fine",
    "forward-repeat",
    "time-only",
    "divisions",
];

/// The elements whose `id` names something else: it may stand there any number of times.
const NAMING: [&str; 7] = [
    "instrument",
    "instrument-change",
    "instrument-link",
    "midi-device",
    "midi-instrument",
    "play",
    "part",
];

/// Directions with more words than this are taken as one.
const MANY_WORDS: usize = 16;

impl Reading<'_> {
    pub(super) fn note(&mut self, node: &Node, item: &mut Item) {
        let text = self.text;
        let in_chord = node.child(text, "chord");
        let only = node.attribute(text, "time-only");
        let only = only.and_then(|passes| self.passes(&passes));
        if let Some(only) = only {
            self.cut(item.range.clone(), When::OnNone(vec![only]));
        }
        let length = if node.child(text, "grace").is_some() {
            0
        } else {
            node.number_in(text, "duration")
        };
        if let Some(chord) = in_chord {
            item.onset = self.now.saturating_sub(self.chord_length);
            let before: Option<Vec<u32>> = self.chord.iter().copied().collect();
            if let Some(before) = before.filter(|before| !before.is_empty()) {
                // Where the notes before it in the chord are silent, it is the first.
                self.cut(chord.whole.clone(), When::OnNone(before));
            }
        } else {
            self.chord_length = length;
            item.length = length;
            self.now = self.now.saturating_add(length);
        }
        self.chord.push(only);
        self.lines_of_note(node, only);
        self.verses_of(node);
    }

    /// After the last note of a chord: where all its notes are silent, time goes on without them.
    pub(super) fn end_chord(&mut self, at: usize) {
        let all: Option<Vec<u32>> = self.chord.drain(..).collect();
        if let (Some(all), true) = (all.filter(|all| !all.is_empty()), self.chord_length > 0) {
            let length = self.chord_length;
            self.cuts.push(Cut {
                range: at..at,
                when: When::OnNone(all),
                put: Some(format!("<forward><duration>{length}</duration></forward>")),
            });
        }
        self.chord_length = 0;
    }

    fn lines_of_note(&mut self, node: &Node, only: Option<u32>) {
        let text = self.text;
        let voice = node
            .child(text, "voice")
            .map_or_else(String::new, |voice| voice.text(text));
        let voice = voice.trim().parse::<usize>().unwrap_or(voice.len()) % 16;
        let pitch = ["pitch", "unpitched"]
            .iter()
            .find_map(|name| node.child(text, name));
        let pitch = pitch.map_or_else(String::new, |pitch| {
            let steps: Vec<String> = pitch
                .children
                .iter()
                .map(|child| child.text(text))
                .collect();
            steps.join(" ")
        });
        let mut waiting: Vec<&Node> = vec![node];
        let mut found: Vec<&Node> = Vec::new();
        while let Some(next) = waiting.pop() {
            for child in &next.children {
                match child.name(text) {
                    "tie" | "tied" | "slur" | "glissando" | "slide" | "wavy-line" => {
                        found.push(child);
                    }
                    "notations" | "ornaments" => waiting.push(child),
                    _ => {}
                }
            }
        }
        // A tie that comes to a note ends before the next begins there, however the file has them.
        found.sort_by_key(|child| {
            let ends = child.attribute(text, "type").as_deref() == Some("stop");
            !(ends && matches!(child.name(text), "tie" | "tied"))
        });
        for child in found {
            if matches!(child.name(text), "tie" | "tied") {
                let own = child.attribute(text, "time-only");
                let own = own.and_then(|passes| self.passes(&passes));
                let line = format!("{pitch}/{voice}");
                self.event(child, child.whole.clone(), &line, own.or(only));
            } else {
                self.event(child, child.whole.clone(), &voice.to_string(), only);
            }
        }
    }

    /// Several verses under a note that nothing tells apart.
    fn verses_of(&mut self, node: &Node) {
        let text = self.text;
        let lyrics = node
            .children
            .iter()
            .filter(|child| child.name(text) == "lyric");
        let verses = lyrics.filter(|lyric| lyric.attribute(text, "time-only").is_none());
        if self.verses.is_none() && verses.count() > 1 {
            self.verses = Some(node.open.start);
        }
    }

    /// What may stand in any element: an `id`, which a file may have once; a list of passes.
    pub(super) fn common(&mut self, node: &Node, whole: &Range<usize>, is_note: bool) {
        let text = self.text;
        let name = node.name(text);
        for attribute in node.attributes(text) {
            if attribute.name == "id" && !NAMING.contains(&name) && name != "bookmark" {
                self.cut(attribute.range, When::Again);
            } else if attribute.name == "time-only" && name != "sound" {
                if !is_note {
                    if let Some(passes) = self.passes(&attribute.value) {
                        self.cut(whole.clone(), When::OnNone(vec![passes]));
                    }
                }
                self.cut(attribute.range, When::Always);
            }
        }
        for child in &node.children {
            self.common(child, &child.whole, false);
        }
    }

    /// Whether anything of a `sound` is left; what is not is cut. `whole` is what is left out with it.
    pub(super) fn sound(&mut self, node: &Node, whole: Range<usize>) -> bool {
        let text = self.text;
        let attributes = node.attributes(text);
        let stays = attributes
            .iter()
            .any(|it| !ROAD.contains(&it.name) && it.name != "id")
            || node
                .children
                .iter()
                .any(|child| child.name(text) != "offset");
        if !stays {
            self.cut(whole, When::Always);
            return false;
        }
        for attribute in attributes {
            if attribute.name == "time-only" {
                if let Some(passes) = self.passes(&attribute.value) {
                    self.cut(whole.clone(), When::OnNone(vec![passes]));
                }
            }
            if ROAD.contains(&attribute.name) {
                self.cut(attribute.range, When::Always);
            }
        }
        true
    }

    pub(super) fn direction(&mut self, node: &Node, next: Option<&Node>, item: &Item) {
        let text = self.text;
        let signs = self.signs_in_words(node, next);
        let staff_at = node
            .child(text, "staff")
            .map_or(0..0, |staff| staff.whole.clone());
        let staff = node
            .child(text, "staff")
            .map_or_else(String::new, |staff| staff.text(text));
        let staff = staff.trim().parse::<u8>().unwrap_or(1).min(8).to_string();
        let (mut dead, mut lines, mut alive) = (Vec::new(), Vec::new(), 0);
        for of_type in node
            .children
            .iter()
            .filter(|child| child.name(text) == "direction-type")
        {
            let is_sign = |child: &Node| {
                matches!(child.name(text), "segno" | "coda") || signs.contains(&child.whole)
            };
            let gone: Vec<&Node> = of_type
                .children
                .iter()
                .filter(|child| is_sign(child))
                .collect();
            if gone.len() == of_type.children.len() && !gone.is_empty() {
                dead.push(of_type.whole.clone());
                continue;
            }
            dead.extend(gone.iter().map(|child| child.whole.clone()));
            alive += 1;
            for child in &of_type.children {
                let event = self.event(child, of_type.whole.clone(), &staff, None);
                self.stands_at(event, staff_at.clone());
                lines.extend(event);
            }
        }
        let sound = node.child(text, "sound");
        let sound_stays = sound.is_some_and(|sound| self.sound(sound, sound.whole.clone()));
        let outside = match sound.filter(|_| sound_stays) {
            Some(sound) => vec![
                node.open.start..sound.whole.start,
                sound.whole.end..node.whole.end,
            ],
            None => vec![item.range.clone()],
        };
        if alive == 0 && !dead.is_empty() {
            for range in outside {
                self.cut(range, When::Always);
            }
            return;
        }
        if !lines.is_empty() && lines.len() == alive {
            for range in outside {
                self.cut(range, When::Broken(lines.clone()));
            }
        }
        for range in dead {
            self.cut(range, When::Always);
        }
    }

    /// The words and signs of a direction: where each stands, what it says, and whether it is written in words.
    fn said(&self, node: &Node) -> Vec<(Range<usize>, String, bool)> {
        let text = self.text;
        let types = node
            .children
            .iter()
            .filter(|child| child.name(text) == "direction-type");
        let mut elements = Vec::new();
        for child in types.flat_map(|of_type| &of_type.children) {
            let (said, is_words) = match child.name(text) {
                "words" | "rehearsal" => (child.text(text), true),
                "symbol" => (symbol(child.text(text).trim()).to_owned(), true),
                "segno" => (SEGNO.to_string(), false),
                "coda" => (CODA.to_string(), false),
                _ => continue,
            };
            elements.push((child.whole.clone(), said, is_words));
        }
        elements
    }

    /// Whether a direction draws a coda sign and nothing else of the road.
    fn is_coda_sign(&self, node: &Node) -> bool {
        let said = self.said(node);
        node.name(self.text) == "direction"
            && matches!(said.as_slice(), [(_, said, _)] if said.trim() == CODA.to_string())
    }

    /// The words and symbols of a direction that are signs of the road, or belong to one, be it in the next direction; other words stay.
    fn signs_in_words(&self, node: &Node, next: Option<&Node>) -> Vec<Range<usize>> {
        let elements = self.said(node);
        let whole: Vec<&str> = elements.iter().map(|(_, said, _)| said.as_str()).collect();
        if next.is_some_and(|next| self.is_coda_sign(next)) && lead_to_coda(&whole.join(" ")) {
            return elements.into_iter().map(|(range, ..)| range).collect();
        }
        let without = |left_out: Option<usize>| {
            let said = elements
                .iter()
                .enumerate()
                .filter(|(index, _)| Some(*index) != left_out);
            let said: Vec<&str> = said.map(|(_, (_, said, _))| said.as_str()).collect();
            signs_of(&said.join(" "))
        };
        let all = without(None);
        if all.is_empty() {
            return Vec::new();
        }
        let belongs = |index: usize, said: &str| {
            elements.len() > MANY_WORDS || !signs_of(said).is_empty() || without(Some(index)) != all
        };
        let words = elements
            .iter()
            .enumerate()
            .filter(|(_, (_, _, is_words))| *is_words);
        words
            .filter(|(index, (_, said, _))| belongs(*index, said))
            .map(|(_, (range, _, _))| range.clone())
            .collect()
    }

    /// Whether anything of a barline is left.
    pub(super) fn barline(&mut self, node: &Node, item: &Item) -> bool {
        let text = self.text;
        let is_road =
            |child: &&Node| matches!(child.name(text), "repeat" | "ending" | "segno" | "coda");
        let repeats = node.child(text, "repeat").is_some();
        let style = node.child(text, "bar-style");
        let is_final = style.is_some_and(|style| style.text(text).trim() == "light-heavy");
        // A repeat's own barline is no sign without it; a final barline stands at the very end only.
        let (goes, when) = match (repeats, is_final) {
            (_, true) => (true, When::NotLast),
            (true, false) => (true, When::Always),
            (false, false) => (false, When::Always),
        };
        let others = node
            .children
            .iter()
            .filter(|child| !is_road(child) && child.name(text) != "bar-style");
        let stays = others.count() > 0 || (style.is_some() && !goes);
        if stays {
            for road in node.children.iter().filter(is_road) {
                self.cut(road.whole.clone(), When::Always);
            }
            if let Some(style) = style.filter(|_| goes) {
                self.cut(style.whole.clone(), when);
            }
        } else if is_final {
            for road in node.children.iter().filter(is_road) {
                self.cut(road.whole.clone(), When::Always);
            }
            self.cut(item.range.clone(), When::NotLast);
        } else {
            self.cut(item.range.clone(), When::Always);
        }
        for attribute in node.attributes(text) {
            if ROAD.contains(&attribute.name) {
                self.cut(attribute.range, When::Always);
            }
        }
        stays || is_final
    }
}

/// What words say of the road.
fn signs_of(words: &str) -> Vec<Phrase> {
    let mut said = phrases(words);
    // Names of pieces are no signs.
    said.retain(|phrase| !matches!(phrase, Phrase::Trio | Phrase::Piece));
    said
}

/// The sign that a glyph's name stands for (SMuFL 1.4, range "repeats"), as words have it.
fn symbol(name: &str) -> &'static str {
    match name {
        _ if name.starts_with("segno") => "\u{1d10b}",
        _ if name.starts_with("coda") => "\u{1d10c}",
        "dalSegno" => "\u{1d109}",
        "daCapo" => "\u{1d10a}",
        _ => "",
    }
}
