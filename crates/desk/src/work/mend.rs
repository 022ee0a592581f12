//! Which kinds of measure work on which loss of the ledger.
//!
//! The losses are the ledger's own ([`habitat::losses`]): what one thing put right on a stand would add to a lek's season. This table
//! says only which work changes that thing. It proposes nothing: whether a measure may go there is for its rules, and what it truly
//! brings is for the years ahead.
//!
//! | loss | on | work | why |
//! |---|---|---|---|
//! | food, snowbound | open ground | wood | buds, catkins and berries above the snow grow on trees (Parr & Watson 1988, as the season's own file has it) |
//! | food, brood | open ground | water, grazing | wet ground breeds the insects (Roos 2016), heavy grazing takes two fifths of them (Baines 1996) |
//! | food, pre-laying | open ground | water, grazing | cotton-grass comes on wet ground; grazing in spring takes its flowers (common practice) |
//! | food, other seasons | open ground | grazing; inbye on farmed fields | heather, berries and seeding grass recover when grazed less (Calladine 2002); stubble and weeds feed in autumn (common practice) |
//! | food | woods | conifer_edge | light lets the ground layer back (common practice) |
//! | sward too short | open ground | grazing; inbye on farmed fields | fewer mouths, or a meadow cut later (common practice) |
//! | sward too tall | heath | heather | cut or burnt in small patches (common practice) |
//! | sward too tall | rush, farmed fields | inbye | rush cut in turn (common practice) |
//! | sward too tall | grass | grazing | grazed again once rank (Calladine 2002) |
//! | sward too tall, display | any | lek_care | the display ground kept short (common practice) |
//! | sward of one height | heath | heather | a mosaic of ages (common practice) |
//! | sward of one height | other open ground | grazing | light grazing leaves tussocks beside lawns (Calladine 2002) |
//! | closed or old wood | woods | conifer_edge | thinned, feathered, rides opened (common practice) |
//! | far, brood | open ground | water | flushes and pools nearer to cover (common practice) |
//! | far, nest | open ground | grazing | tall cover grows where less is grazed (common practice) |
//! | far, other seasons | open ground | wood | food and cover nearer to each other (common practice) |
//! | people near | any | lek_care | quiet agreed for the display season; it works on display alone (common practice) |
//!
//! Ground too high, low or steep, and ground nobody mapped, no work mends.

use super::looks;
use habitat::{Cause, Class, Season, Stand};

/// Kinds of measure that work on a loss of a stand; none where no work does.
pub fn kinds(cause: Cause, season: Season, stand: &Stand) -> &'static [&'static str] {
    let farmed = matches!(stand.class, Class::InByeGrass | Class::Arable);
    let look = looks::of(stand);
    let heath = matches!(look, "heather" | "blaeberry");
    match (cause, season) {
        (Cause::Site | Cause::Unmapped, _) => &[],
        (Cause::Disturbed, Season::Display) => &["lek_care"],
        (Cause::Disturbed, _) => &[],
        (Cause::Food | Cause::ClosedWood, _) if stand.wooded => &["conifer_edge"],
        (Cause::ClosedWood, _) => &[],
        _ if stand.wooded => &[],
        (Cause::Food, Season::Snowbound) => &["wood"],
        (Cause::Food, Season::Brood | Season::PreLaying) => &["water", "grazing"],
        (Cause::Food, _) if farmed => &["inbye", "grazing"],
        (Cause::Food, _) => &["grazing"],
        (Cause::TooShort, _) if farmed => &["grazing", "inbye"],
        (Cause::TooShort, _) => &["grazing"],
        (Cause::TooTall, Season::Display) if heath => &["lek_care", "heather"],
        (Cause::TooTall, Season::Display) => &["lek_care", "grazing"],
        (Cause::TooTall, _) if heath => &["heather"],
        (Cause::TooTall, _) if farmed || look == "rush" => &["inbye", "grazing"],
        (Cause::TooTall, _) => &["grazing"],
        (Cause::Uniform, _) if heath => &["heather", "grazing"],
        (Cause::Uniform, _) => &["grazing"],
        (Cause::Far, Season::Brood) => &["water"],
        (Cause::Far, Season::Nest) => &["grazing"],
        (Cause::Far, _) => &["wood"],
    }
}
