//! Everything that a customer reads, and how figures are written, by language and region: the files of `seed-data/words/`.
//!
//! The format is Project Fluent: open, with plurals and selections that differ by language, and kept by people who translate.
//! A tag is a language (`de`) or a language and a region (`de-CH`), whose file holds only what differs.

mod figures;
#[cfg(test)]
mod tests;

use std::{fmt, sync::LazyLock};

use fluent_bundle::{FluentArgs, FluentResource, FluentValue, concurrent::FluentBundle};

use self::figures::Marks;

// `FILES`: tag and text of every file, in the order of the tags; written by src/build.rs.
include!(concat!(env!("OUT_DIR"), "/words.rs"));

/// The language of revisions older than this catalogue, and of the shop's own pages.
const FIRST: &str = "en";

/// The words of one tag.
pub struct Words {
    tag: &'static str,
    name: String,
    bundle: FluentBundle<FluentResource>,
    marks: Marks,
}

static ALL: LazyLock<Vec<Words>> = LazyLock::new(|| FILES.iter().map(|(tag, _)| Words::read(tag)).collect());

static CHOICES: LazyLock<Vec<(&'static str, &'static str)>> =
    LazyLock::new(|| ALL.iter().map(|words| (words.tag, words.name.as_str())).collect());

impl Words {
    /// Every tag that there is a file for.
    pub fn all() -> &'static [Self] {
        &ALL
    }

    /// `(tag, name)` of every one, for a choice.
    pub fn choices() -> &'static [(&'static str, &'static str)] {
        &CHOICES
    }

    pub fn english() -> &'static Self {
        Self::find(FIRST).unwrap_or(&ALL[0])
    }

    /// The words of a tag; where it has no file (any more), those of its language, else English.
    pub fn of(tag: &str) -> &'static Self {
        let language = tag.split('-').next().unwrap_or_default();
        Self::find(tag).or_else(|| Self::find(language)).unwrap_or_else(Self::english)
    }

    fn find(tag: &str) -> Option<&'static Self> {
        ALL.iter().find(|words| words.tag == tag)
    }

    /// `de-CH`: for the `lang` of a page and of a PDF.
    pub fn tag(&self) -> &'static str {
        self.tag
    }

    pub fn language(&self) -> &'static str {
        self.tag.split('-').next().unwrap_or_default()
    }

    /// How its speakers call it.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// A text, to be shown or given values first.
    pub fn say(&self, id: impl Into<String>) -> Said<'_> {
        Said { words: self, id: id.into(), values: FluentArgs::new() }
    }

    pub fn has(&self, id: &str) -> bool {
        self.bundle.has_message(id)
    }

    /// Several in a row, as the language writes them.
    pub fn list<T: fmt::Display>(&self, items: impl IntoIterator<Item = T>) -> String {
        let mut items = items.into_iter();
        let first = items.next().map(|first| first.to_string()).unwrap_or_default();
        items.fold(first, |first, next| self.say("and-so-on").with("first", first).with("next", next).text())
    }

    fn read(tag: &'static str) -> Self {
        // A tag that is none counts in English; the tests read every file.
        let mut bundle = FluentBundle::new_concurrent(vec![tag.parse().unwrap_or_default()]);
        bundle.set_use_isolating(false);
        let language = tag.split('-').next().unwrap_or_default();
        for part in [language, tag] {
            let Some((_, text)) = FILES.iter().find(|(file, _)| *file == part) else { continue };
            // What of a file can be read counts; the tests allow no fault.
            let resource = FluentResource::try_new((*text).to_owned()).unwrap_or_else(|(read, _)| read);
            bundle.add_resource_overriding(resource);
        }
        let mut words = Self { tag, name: String::new(), bundle, marks: Marks::default() };
        words.name = words.say("language-name").text();
        words.marks = Marks::read(&words);
        words
    }
}

impl fmt::Debug for Words {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Words({})", self.tag)
    }
}

impl PartialEq for Words {
    fn eq(&self, other: &Self) -> bool {
        self.tag == other.tag
    }
}

/// A text of the catalogue with the values that stand in it.
pub struct Said<'w> {
    words: &'w Words,
    id: String,
    values: FluentArgs<'w>,
}

impl Said<'_> {
    /// A value as it is read, or the word by which a text is chosen.
    pub fn with(mut self, name: &'static str, value: impl fmt::Display) -> Self {
        self.values.set(name, FluentValue::from(value.to_string()));
        self
    }

    /// A number by which singular and plural are told apart.
    pub fn count(mut self, name: &'static str, number: usize) -> Self {
        self.values.set(name, FluentValue::from(number));
        self
    }

    pub fn text(&self) -> String {
        self.to_string()
    }
}

impl fmt::Display for Said<'_> {
    /// A text that is missing shows its name: never a reason to show no page.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let bundle = &self.words.bundle;
        let Some(pattern) = bundle.get_message(&self.id).and_then(|message| message.value()) else {
            debug_assert!(false, "{} has no text {}", self.words.tag, self.id);
            return f.write_str(&self.id);
        };
        let mut faults = Vec::new();
        let text = bundle.format_pattern(pattern, Some(&self.values), &mut faults);
        debug_assert!(faults.is_empty(), "{} of {}: {faults:?}", self.id, self.words.tag);
        f.write_str(&text)
    }
}
