//! The demo's story, in a few sentences.

/// What the holding is and what has gone wrong on it, for the first page of a walk-through.
pub fn story() -> &'static str {
    "Harkenshaw is an invented hill farm in a dale that does not exist. A fell and a common lie above the in-bye; \
     a spruce block was planted in 1978 and nothing has been done to its edge since. Three leks are known. The one under \
     the plantation has fallen from eleven cocks to three; the one on the top holds steady at about eight; the one on the \
     low common was small when last counted. The whole fell was burnt in one spring some 24 years ago, the common is \
     stocked hard all winter, one allotment has been left to grow tall, and grips run through the bog and a flush. \
     Every name, count and hectare is made up."
}
