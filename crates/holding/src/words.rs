//! The words by which kinds are stored in files, JSON and tables, and the other words people write for them.

use crate::model::{AreaKind, FenceKind, KnownTo, Marking, ParcelKind, Phase, Plant, Rain, StockClass, Stubble, TrackKind, Tree};

/// Whether a mark turns or breaks the line it stands in and is itself not seen: a name with one could show other words than it holds.
pub fn turns(letter: char) -> bool {
    matches!(letter, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// A closed list of kinds with one stored word each.
pub trait Word: Copy + Sized + 'static {
    /// Every kind with its stored word and the other words accepted for it on import (lower case).
    const WORDS: &'static [(Self, &'static str, &'static [&'static str])];

    /// The stored word.
    fn word(self) -> &'static str;

    /// The kind for a stored word or another accepted word; case, spaces, hyphens and underscores do not matter.
    fn from_word(text: &str) -> Option<Self> {
        let flat = flatten(text);
        Self::WORDS
            .iter()
            .find(|(_, word, others)| flatten(word) == flat || others.iter().any(|o| flatten(o) == flat))
            .map(|(kind, _, _)| *kind)
    }

    /// The stored words, for messages.
    fn all_words() -> String {
        Self::WORDS.iter().map(|(_, w, _)| *w).collect::<Vec<_>>().join(", ")
    }
}

fn flatten(text: &str) -> String {
    text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

/// A name without case, accents, spaces and marks: `Whin-Rigg`, `whin rigg` and `Whìn Rigg` are one.
pub fn loose(name: &str) -> String {
    flatten(name).chars().map(plain_letter).collect()
}

/// The letter below an accent, of the languages of Britain and their neighbours.
fn plain_letter(c: char) -> char {
    match c {
        'à'..='å' | 'ā' => 'a',
        'ç' => 'c',
        'è'..='ë' | 'ē' => 'e',
        'ì'..='ï' | 'ī' => 'i',
        'ñ' => 'n',
        'ò'..='ö' | 'ø' | 'ō' => 'o',
        'ù'..='ü' | 'ū' => 'u',
        'ŵ' => 'w',
        'ý' | 'ÿ' | 'ŷ' => 'y',
        other => other,
    }
}

macro_rules! words {
    ($kind:ty { $($variant:ident = $word:literal [$($other:literal),*]),* $(,)? }) => {
        impl Word for $kind {
            const WORDS: &'static [(Self, &'static str, &'static [&'static str])] =
                &[$((<$kind>::$variant, $word, &[$($other),*])),*];
            fn word(self) -> &'static str {
                match self { $(<$kind>::$variant => $word),* }
            }
        }
    };
}

words!(ParcelKind {
    Hill = "hill" ["moor", "open hill", "moorland"],
    Common = "common" ["common grazing", "grazings"],
    Rough = "rough" ["rough grazing", "allotment", "intake", "outbye"],
    InByePasture = "in_bye_pasture" ["pasture", "in-bye", "inbye", "grass"],
    InByeMeadow = "in_bye_meadow" ["meadow", "hay meadow", "hay"],
    InByeArable = "in_bye_arable" ["arable", "cereal", "roots", "crop"],
    Wood = "wood" ["woodland", "plantation", "forest"],
    Other = "other" [],
});
words!(Stubble {
    Left = "left" ["stubble", "overwintered", "standing"],
    Ploughed = "ploughed" ["plowed", "autumn ploughed"],
    Roots = "roots" ["turnips", "kale", "rape"],
});
words!(Plant {
    Heather = "heather" ["calluna", "ling", "dwarf shrub", "heath"],
    Blaeberry = "blaeberry" ["bilberry", "vaccinium myrtillus", "whortleberry"],
    OtherBerries = "other_berries" ["berries", "cowberry", "crowberry"],
    CottonGrass = "cotton_grass" ["cottongrass", "eriophorum"],
    Rush = "rush" ["rushes", "juncus"],
    SedgeGrass = "sedge_grass" ["grass", "grasses", "sedge", "sedges", "graminoids"],
    Herbs = "herbs" ["herb", "forbs", "flowers"],
    Bracken = "bracken" ["pteridium"],
    Moss = "moss" ["mosses", "sphagnum", "bog moss"],
    Bare = "bare" ["bare ground", "rock", "bare peat"],
    Crop = "crop" ["crops", "stubble"],
});
words!(Phase {
    Pioneer = "pioneer" ["pio"],
    Building = "building" ["bui"],
    Mature = "mature" ["mat"],
    Degenerate = "degenerate" ["deg", "old"],
});
words!(Tree {
    Birch = "birch" ["betula", "downy birch", "silver birch"],
    Rowan = "rowan" ["sorbus", "mountain ash"],
    Willow = "willow" ["salix", "willows", "sallow"],
    Hawthorn = "hawthorn" ["crataegus", "thorn"],
    Alder = "alder" ["alnus"],
    Juniper = "juniper" ["juniperus"],
    ScotsPine = "scots_pine" ["pine", "pinus sylvestris"],
    Larch = "larch" ["larix"],
    Oak = "oak" ["quercus", "sessile oak"],
    Spruce = "spruce" ["sitka", "sitka spruce", "norway spruce", "picea", "conifer"],
    PlantedPine = "planted_pine" ["lodgepole", "lodgepole pine"],
    OtherTree = "other_tree" ["other", "mixed"],
});
words!(FenceKind {
    Deer = "deer" ["deer fence", "high tensile deer"],
    Stock = "stock" ["stock fence", "stock netting", "sheep netting"],
    Wire = "wire" ["post and wire", "plain wire", "strand"],
    Wall = "wall" ["dyke", "dry stone wall", "drystane dyke"],
    Other = "other" [],
});
words!(Marking {
    None = "none" ["unmarked", "no"],
    Netting = "netting" ["orange netting", "net"],
    Bamboo = "bamboo" ["canes", "bamboo canes"],
    Pales = "pales" ["droppers", "wood", "paling", "chestnut paling"],
    Unknown = "unknown" ["not recorded"],
});
words!(TrackKind {
    Road = "road" ["public road"],
    Track = "track" ["farm track", "hill track", "forest road"],
    Path = "path" ["footpath", "core path", "bridleway"],
});
words!(AreaKind {
    Sssi = "sssi" ["site of special scientific interest"],
    European = "european" ["sac", "spa", "special area of conservation", "special protection area"],
    Historic = "historic" ["scheduled monument", "monument", "archaeology"],
    WaterSupply = "water_supply" ["abstraction", "catchment"],
    SpeciesRich = "species_rich" ["flower-rich"],
    NoGo = "no_go" ["no go", "excluded", "keep out"],
});
words!(KnownTo {
    Day = "day" [],
    Month = "month" [],
    Year = "year" [],
});
words!(Rain {
    None = "none" ["no", "n", "nil", "0", "dry", "no rain", "fair", "fine", "clear"],
    Drizzle = "drizzle" ["mist", "misty", "light drizzle", "very light", "spitting", "spots"],
    Showers = "showers" ["shower", "light showers", "light shower", "occasional showers", "showery", "intermittent"],
    Rain = "rain" ["yes", "y", "wet", "light", "light rain", "moderate", "moderate rain", "raining", "steady", "steady rain"],
    Heavy = "heavy" ["heavy rain", "heavy showers", "downpour"],
    Snow = "snow" ["sleet", "hail", "snow showers", "wintry", "wintry showers"],
});
words!(StockClass {
    HillEwe = "hill_ewe" ["ewe", "ewes", "hill ewes", "sheep"],
    HeavyEwe = "heavy_ewe" ["lowland ewe", "cross ewe"],
    Hogg = "hogg" ["hoggs", "teg", "store lamb", "lambs"],
    Cow = "cow" ["cows", "suckler", "suckler cow", "cattle"],
    Store = "store" ["stores", "young cattle", "stirk", "stirks"],
    Pony = "pony" ["ponies", "horse"],
    RedDeer = "red_deer" ["deer", "hind", "stag"],
});

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stored_word_comes_back_as_its_kind() {
        fn check<W: Word + PartialEq + std::fmt::Debug>() {
            for (kind, word, others) in W::WORDS {
                assert_eq!(W::from_word(word), Some(*kind));
                assert_eq!(kind.word(), *word);
                for other in *others {
                    assert_eq!(W::from_word(other), Some(*kind), "{other} stands for another kind first");
                }
            }
        }
        check::<ParcelKind>();
        check::<Plant>();
        check::<Tree>();
        check::<FenceKind>();
        check::<Marking>();
        check::<AreaKind>();
        check::<StockClass>();
        assert_eq!(FenceKind::from_word("Stock fence"), Some(FenceKind::Stock));
        assert_eq!(Tree::from_word("nothing of the kind"), None);
    }
}
