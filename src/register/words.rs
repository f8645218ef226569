//! The words that stand in sheets, and the enum each means.

use super::{Coating, Cycling, Setting, ShellMaterial, Side, Sun};
use crate::heat::insulation::Insulation;
use crate::heat::jacket::Jacket;

/// An enum that a sheet states by a word. Capitals carry no meaning: spreadsheets put them in by themselves.
pub(crate) trait Word: Sized + Copy {
    /// What a word of this kind is, with its article.
    const NOUN: &'static str;

    /// Every word with its meaning, in the order in which they are told.
    fn words() -> Vec<(&'static str, Self)>;

    /// The meaning of a word.
    fn from_text(text: &str) -> Option<Self> {
        Self::words()
            .into_iter()
            .find(|(word, _)| word.eq_ignore_ascii_case(text))
            .map(|(_, meaning)| meaning)
    }
}

impl Word for Insulation {
    const NOUN: &'static str = "an insulation material";

    fn words() -> Vec<(&'static str, Self)> {
        Self::ALL.iter().map(|material| (material.key(), *material)).collect()
    }
}

impl Word for Jacket {
    const NOUN: &'static str = "a jacket material";

    fn words() -> Vec<(&'static str, Self)> {
        Self::ALL.iter().map(|material| (material.key(), *material)).collect()
    }
}

/// Gives an enum its words.
macro_rules! words {
    ($name:ty, $noun:literal, $($word:literal => $meaning:ident),+ $(,)?) => {
        impl Word for $name {
            const NOUN: &'static str = $noun;

            fn words() -> Vec<(&'static str, Self)> {
                vec![$(($word, Self::$meaning)),+]
            }
        }
    };
}

/// `shape` of assets.csv.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum ShapeWord {
    HorizontalCylinder,
    VerticalCylinder,
    Flat,
}

/// `temperature_scale` of frames.csv.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum ScaleWord {
    Centikelvin,
    Decikelvin,
    Celsius,
    Kelvin,
    Fahrenheit,
    Linear,
    Sensor,
    ColourBar,
}

/// An answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Answer {
    Yes,
    No,
}

words!(ShapeWord, "a shape",
    "horizontal-cylinder" => HorizontalCylinder, "vertical-cylinder" => VerticalCylinder, "flat" => Flat);
words!(ScaleWord, "a temperature scale",
    "centikelvin" => Centikelvin, "celsius" => Celsius, "kelvin" => Kelvin, "fahrenheit" => Fahrenheit,
    "decikelvin" => Decikelvin, "linear" => Linear, "sensor" => Sensor, "colour-bar" => ColourBar);
words!(Setting, "a setting", "indoor" => Indoor, "outdoor" => Outdoor);
words!(ShellMaterial, "a shell material", "carbon-steel" => CarbonSteel, "stainless-steel" => StainlessSteel);
words!(Coating, "a state of a coating",
    "none" => None, "unknown" => Unknown, "sound" => Sound, "failed" => Failed);
words!(Sun, "a word for the sun", "none" => None, "overcast" => Overcast, "direct" => Direct);
words!(Side, "a side", "left" => Left, "right" => Right, "bottom" => Bottom, "top" => Top);

impl Word for Answer {
    const NOUN: &'static str = "an answer";

    fn words() -> Vec<(&'static str, Self)> {
        vec![("yes", Self::Yes), ("no", Self::No)]
    }

    fn from_text(text: &str) -> Option<Self> {
        // A spreadsheet's truth values become TRUE and FALSE when it is saved as text.
        let aliases = [
            ("yes", Self::Yes),
            ("no", Self::No),
            ("true", Self::Yes),
            ("false", Self::No),
        ];
        aliases
            .into_iter()
            .find(|(word, _)| word.eq_ignore_ascii_case(text))
            .map(|(_, answer)| answer)
    }
}

impl Word for Cycling {
    const NOUN: &'static str = "an answer";

    fn words() -> Vec<(&'static str, Self)> {
        vec![("yes", Self::Cycles), ("no", Self::Steady)]
    }

    fn from_text(text: &str) -> Option<Self> {
        Answer::from_text(text).map(|answer| match answer {
            Answer::Yes => Self::Cycles,
            Answer::No => Self::Steady,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn every_word_is_its_own<W: Word + PartialEq + std::fmt::Debug>() {
        for (word, meaning) in W::words() {
            assert_eq!(W::from_text(word), Some(meaning));
            assert_eq!(W::from_text(&word.to_uppercase()), Some(meaning));
            assert_eq!(W::from_text(&format!("{word}x")), None);
        }
    }

    #[test]
    fn words_mean_what_they_say() {
        every_word_is_its_own::<Insulation>();
        every_word_is_its_own::<Jacket>();
        every_word_is_its_own::<ShapeWord>();
        every_word_is_its_own::<ScaleWord>();
        every_word_is_its_own::<Setting>();
        every_word_is_its_own::<ShellMaterial>();
        every_word_is_its_own::<Coating>();
        every_word_is_its_own::<Sun>();
        every_word_is_its_own::<Side>();
        every_word_is_its_own::<Answer>();
        every_word_is_its_own::<Cycling>();
        assert_eq!(Answer::from_text("TRUE"), Some(Answer::Yes));
        assert_eq!(Cycling::from_text("false"), Some(Cycling::Steady));
    }
}
