//! The document of the interface is committed, and is what the code says.

use crate::server::{Silent, guidance};
use std::path::Path;
use std::sync::Arc;

#[test]
fn the_committed_document_is_what_the_code_says() {
    let desk = Arc::new(desk::Desk::new(".", guidance(), Arc::new(Silent)));
    let (_, api) = desk::routes::all(desk);
    let mut text = serde_json::to_string_pretty(&desk::routes::document::whole(&api)).unwrap();
    text.push('\n');
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../web/openapi.json");
    if std::env::var_os("GREYHEN_BLESS").is_some() {
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(&path, text).unwrap();
        return;
    }
    let committed = std::fs::read_to_string(&path).unwrap();
    assert!(committed == text, "web/openapi.json is not what the routes say; run with GREYHEN_BLESS=1, then `npm run types` in web/");
}

#[test]
fn every_reference_of_the_document_leads_somewhere() {
    let desk = Arc::new(desk::Desk::new(".", guidance(), Arc::new(Silent)));
    let (_, api) = desk::routes::all(desk);
    let whole = desk::routes::document::whole(&api);
    let text = whole.to_string();
    let mut found = 0;
    for reference in text.split("\"$ref\":\"#").skip(1).filter_map(|rest| rest.split('"').next()) {
        assert!(whole.pointer(reference).is_some(), "{reference}");
        found += 1;
    }
    assert!(found > 20, "{found}");
    for schema in ["EditRequest", "Problem", "FromPage", "ToPage", "PlanState", "WorksDocument"] {
        assert!(whole["components"]["schemas"][schema].is_object(), "{schema}");
    }
}

#[test]
fn every_route_that_can_be_asked_wrongly_says_how_it_refuses() {
    let desk = Arc::new(desk::Desk::new(".", guidance(), Arc::new(Silent)));
    let (_, api) = desk::routes::all(desk);
    let whole = desk::routes::document::whole(&api);
    let mut asked = 0;
    for (path, ways) in whole["paths"].as_object().unwrap() {
        for (way, of) in ways.as_object().unwrap() {
            if of.get("parameters").is_none() && of.get("requestBody").is_none() {
                continue;
            }
            asked += 1;
            let told = ["400", "4XX", "default"].iter().any(|status| of["responses"].get(*status).is_some());
            assert!(told, "{way} {path} does not say that a request may be refused");
        }
    }
    assert!(asked > 15, "{asked}");
}
