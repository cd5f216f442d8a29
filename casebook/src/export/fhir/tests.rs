use super::*;
use crate::invented;

#[test]
fn an_address_is_a_uuid_of_what_it_names() {
    let a = address(&["raise", "sub-a/ses-01/run-01", "0"]);
    assert_eq!(a, address(&["raise", "sub-a/ses-01/run-01", "0"]));
    assert_ne!(a, address(&["raise", "sub-a/ses-01/run-01", "1"]));
    let uuid = a.strip_prefix("urn:uuid:").unwrap();
    assert_eq!(uuid.len(), 36, "{uuid}");
    assert_eq!(&uuid[14..15], "8");
    assert!("89ab".contains(&uuid[19..20]), "{uuid}");
    // FNV-1a of nothing is its offset; the fixed bits are set in it.
    assert_eq!(
        address(&[]),
        "urn:uuid:6c62272e-07bb-8142-a2b8-21756295c58d"
    );
}

#[test]
fn each_raise_and_each_mean_is_one_observation_without_a_name() {
    let account = invented::account();
    let text = text(&account, None, &Codes::default());
    assert!(!text.contains("Zoë") && !text.contains("1987"));
    let bundle: Value = serde_json::from_str(&text).unwrap();
    let entries = bundle["entry"].as_array().unwrap();
    assert_eq!(entries.len(), 8 * 2 * (6 + 2));
    let mut urls: Vec<&str> = entries
        .iter()
        .map(|e| e["fullUrl"].as_str().unwrap())
        .collect();
    let means = entries
        .iter()
        .filter(|e| e["resource"]["derivedFrom"][0].get("reference").is_some());
    for mean in means.clone() {
        for from in mean["resource"]["derivedFrom"].as_array().unwrap() {
            assert!(urls.contains(&from["reference"].as_str().unwrap()));
        }
    }
    assert_eq!(means.count(), 8 * 2 * 2);
    urls.sort_unstable();
    urls.dedup();
    assert_eq!(urls.len(), entries.len());
    let absent = entries
        .iter()
        .filter(|e| e["resource"].get("dataAbsentReason").is_some());
    for entry in absent.clone() {
        assert!(entry["resource"].get("valueQuantity").is_none());
    }
    assert_eq!(absent.count(), 1);
}

#[test]
fn one_visit_and_text_alone() {
    let account = invented::account();
    let bundle = bundle(&account, Some("05"), &Codes::NONE);
    let entries = bundle["entry"].as_array().unwrap();
    assert_eq!(entries.len(), 2 * (6 + 2));
    assert!(!bundle.to_string().contains("snomed"));
    // One raise was set aside: the right leg's mean stands on two.
    let right = entries.iter().find(|e| {
        let body = &e["resource"];
        body["derivedFrom"]
            .as_array()
            .is_some_and(|from| from.len() == 2)
    });
    assert_eq!(right.unwrap()["resource"]["bodySite"]["text"], "right leg");
}
