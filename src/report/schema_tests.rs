//! The published schemas are those of the types. `CROWNMEND_BLESS=1 cargo test --lib schema`
//! rewrites the files.

use pretty_assertions::assert_eq;

fn check(file: &str, wanted: &str) {
    let path = format!("{}/src/report/{file}", env!("CARGO_MANIFEST_DIR"));
    if std::env::var_os("CROWNMEND_BLESS").is_some() {
        std::fs::write(&path, wanted).unwrap();
    }
    assert_eq!(std::fs::read_to_string(&path).unwrap_or_default(), wanted);
}

#[test]
fn published_schema_of_the_log_is_up_to_date() {
    check("changes.schema.json", &super::json_schema().unwrap());
}

#[test]
fn published_schema_of_the_survey_is_up_to_date() {
    check("survey.schema.json", &super::survey::json_schema().unwrap());
}
