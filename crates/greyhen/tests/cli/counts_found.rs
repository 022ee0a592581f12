//! What visits found, and what more of them would: as people ask it.

use crate::counts_in::{flowing, plan, write};
use crate::program::run;
use crate::schema::holds_schema;

/// Two visits a spring to three leks over eight years, in season and hour, the second the poorer.
fn counted(dir: &std::path::Path) -> String {
    let plan = plan(dir);
    let mut text = "lek,date,start,cocks\n".to_string();
    for (lek, most) in [("L1", 14_i32), ("L2", 4), ("L3", 8)] {
        for year in 2016..2024 {
            let swing = [0, 2, 1, -1, 0, 1, -2, 1][(year - 2016) as usize];
            text.push_str(&format!("{lek},{year}-04-12,05:40,{}\n", most + swing));
            text.push_str(&format!("{lek},{year}-04-26,05:10,{}\n", (most + swing - 2).max(0)));
        }
    }
    text.push_str("L1,2023-06-20,04:40,2\n");
    let visits = write(dir, "visits.csv", &text);
    run(0, &["counts", &plan, "import", &visits]);
    plan
}

#[test]
fn a_figure_is_told_with_what_it_missed() {
    let dir = tempfile::tempdir().unwrap();
    let plan = counted(dir.path());
    let broods = write(dir.path(), "broods.csv", "date,hens,hens_with_brood,young\n2022-08-10,12,3,4\n2023-08-10,10,8,30\n2023-09-20,4,2,\n");
    run(0, &["counts", &plan, "import", &broods, "--broods"]);
    let found = holds_schema("counts-found.json", &run(0, &["counts", &plan, "found", "--json"]).0);
    let leks = found["leks"].as_array().unwrap();
    assert_eq!(leks.len(), 24);
    let last = leks.iter().find(|l| l["lek"] == "L1" && l["year"] == 2023).unwrap();
    assert_eq!((last["visits"].as_u64(), last["valid"].as_u64(), last["cocks"].as_u64()), (Some(3), Some(2), Some(15)));
    assert!(last["refused"][0]["why"].as_str().unwrap().contains("outside the season"));
    let (low, high) = (last["probably"]["low"].as_u64().unwrap(), last["probably"]["high"].as_u64().unwrap());
    assert!(low >= 15 && high > low && last["missed"]["value"].as_f64().unwrap() > 0.0, "{last:#}");
    // Three leks a year are too few for the mixture; all years together may do.
    let repeated = found["repeated"].as_array().unwrap();
    assert_eq!((repeated.len(), &repeated[0]["year"]), (9, &serde_json::Value::Null));
    assert!(repeated[1]["refused"].as_str().unwrap().contains("3 places"), "{repeated:#?}");
    let broods = found["broods"].as_array().unwrap();
    assert_eq!(broods.iter().map(|b| b["standing"].as_str().unwrap()).collect::<Vec<_>>()[1..], ["below", "above"]);
    assert_eq!((&broods[2]["unfit"], &broods[2]["out_of_season"]), (&serde_json::json!(0), &serde_json::json!(1)));
    assert_eq!(broods[2]["days_out_of_season"][0], "2023-09-20");
    let told = flowing(&run(0, &["counts", &plan, "found", "--year", "2023"]).0);
    for wanted in ["High Knowe 2023 3 2 15", "Broods of 2023: 30 young of 10 hens, 3.0", "enough young to hold numbers steady", "Repeated visits of all leks alone", "10 hens 16"] {
        assert!(told.contains(wanted), "{wanted}: {told}");
    }
    let one = holds_schema("counts-found.json", &run(0, &["counts", &plan, "found", "--lek", "low knowe", "--year", "2023", "--json"]).0);
    assert_eq!((one["leks"].as_array().unwrap().len(), &one["of_year"], one["broods"].as_array().unwrap().len()), (1, &serde_json::json!(2023), 0));
    let none = flowing(&run(0, &["counts", &plan, "found", "--lek", "low knowe", "--year", "1990"]).0);
    assert!(none.contains("No dawn visit of Low Knowe in 1990; the plan has 49 visits in all.") && none.contains("No brood count of Low Knowe in 1990"), "{none}");
}

#[test]
fn more_visits_are_part_of_the_question_of_power() {
    let dir = tempfile::tempdir().unwrap();
    let plan = counted(dir.path());
    let so_far = holds_schema("counts-power.json", &run(0, &["counts", &plan, "power", "--json"]).0);
    assert_eq!((so_far["visits_now"].as_f64(), so_far["visits"].as_u64()), (Some(2.0), Some(2)));
    let rows = so_far["by_visits"].as_array().unwrap();
    let shares: Vec<f64> = rows.iter().map(|r| r["share_seen"].as_f64().unwrap()).collect();
    assert!(shares.windows(2).all(|w| w[0] < w[1]) && shares[0] > 0.75 && shares[0] < 0.85, "{shares:?}");
    let two = &rows[1];
    let power = |v: &serde_json::Value| v["power"].as_f64().unwrap();
    assert!((power(two) - power(&so_far)).abs() < 1e-9, "as many visits as now change nothing: {so_far:#}");
    let more = holds_schema("counts-power.json", &run(0, &["counts", &plan, "power", "--visits", "6", "--json"]).0);
    assert!(more["design"]["cocks"].as_f64() > so_far["design"]["cocks"].as_f64());
    let told = flowing(&run(0, &["counts", &plan, "power", "--visits", "3"]).0);
    assert!(told.contains("were each lek visited 3 times a spring (2.0 visits a figure)") && told.contains("must stay as many every year"), "{told}");
    let (_, said) = run(2, &["counts", &plan, "power", "--visits", "0"]);
    assert!(said.contains("0"), "{said}");
}
