//! Stock by parcel, class and month.

use super::super::column::{Column, Table};
use super::super::row::{Draft, Row};
use super::{ID, Stored};
use crate::model::{Stock, StockClass};

/// The column of each month, January first.
const MONTHS: [&str; 12] = [
    "head_jan", "head_feb", "head_mar", "head_apr", "head_may", "head_jun", "head_jul", "head_aug", "head_sep",
    "head_oct", "head_nov", "head_dec",
];

impl Stored for Stock {
    const TABLE: &'static Table = &Table {
        name: "stock",
        title: "Stock",
        meaning: "Head of one class of stock in one parcel, month by month.",
        columns: &[
            ID,
            Column::text("parcel_id", "`id` of the parcel").required(),
            Column::word::<StockClass>("class", "class of stock").required(),
            Column::amount(MONTHS[0], "head", "in January; missing means 0"),
            Column::amount(MONTHS[1], "head", "in February; missing means 0"),
            Column::amount(MONTHS[2], "head", "in March; missing means 0"),
            Column::amount(MONTHS[3], "head", "in April; missing means 0"),
            Column::amount(MONTHS[4], "head", "in May; missing means 0"),
            Column::amount(MONTHS[5], "head", "in June; missing means 0"),
            Column::amount(MONTHS[6], "head", "in July; missing means 0"),
            Column::amount(MONTHS[7], "head", "in August; missing means 0"),
            Column::amount(MONTHS[8], "head", "in September; missing means 0"),
            Column::amount(MONTHS[9], "head", "in October; missing means 0"),
            Column::amount(MONTHS[10], "head", "in November; missing means 0"),
            Column::amount(MONTHS[11], "head", "in December; missing means 0"),
        ],
    };

    fn key(&self) -> String {
        self.id.clone()
    }

    fn read(row: &Row) -> Option<Self> {
        Some(Self {
            id: row.id(),
            parcel: row.text("parcel_id"),
            class: row.word("class")?,
            head: MONTHS.map(|month| row.f32(month).unwrap_or_default()),
        })
    }

    fn write(&self, row: &mut Draft) {
        row.text("id", &self.id);
        row.text("parcel_id", &self.parcel);
        row.word("class", Some(self.class));
        for (month, head) in MONTHS.iter().zip(self.head) {
            row.f32(month, Some(head));
        }
    }
}
