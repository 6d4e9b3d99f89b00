//! Garment profiles: every number has a unit, a mark and a source that can be checked.

use crownmend::garment::{self, Mark, ProfileError, UNITS_AND_MEANINGS};
use crownmend::settings::PassName;

/// Titles of the published sources as they stand in the project's collection of trade facts
/// (its sections 1 to 9 and 12). A number marked S or D must name one of them.
const TITLES: [&str; 21] = [
    "Hat Tricks: Embroidery Digitizing for Caps",
    "Hat design, digitizing and stitching",
    "Cap Embroidery Made Easy",
    "3 Tips for Headwear Design Domination",
    "Embroider designs on caps with ease",
    "Types of Caps",
    "Hesitant to take of embroidery on caps?",
    "Printwear Oct 2016",
    "Printwear Jul 2019",
    "Printwear Feb 2016",
    "Compiled Embroidery Skill Articles",
    "Embroidery at a stretch",
    "Thread... According to Ed",
    "Quality benchmarks: tie-offs",
    "Trim Command",
    "Embroidery format DST",
    "How long does it take",
    "Connecting Letters I",
    "Graphics Pro Feb 2021",
    "Efficiency in digitising",
    "Thread Consumption",
];

fn profiles() -> Vec<garment::Profile> {
    garment::names().map(|name| garment::built_in(name).unwrap()).collect()
}

#[test]
fn four_garments_are_built_in_and_the_finished_cap_is_the_default() {
    let names: Vec<_> = garment::names().collect();
    assert_eq!(names, ["finished-cap", "unstructured-cap", "flat-woven", "pique-knit"]);
    for profile in profiles() {
        assert!(names.contains(&profile.name.as_str()));
        assert!(profile.about.len() > 20, "{} says too little about itself", profile.name);
    }
}

#[test]
fn every_number_has_unit_meaning_mark_and_source() {
    for profile in profiles() {
        assert_eq!(profile.entries.len(), UNITS_AND_MEANINGS.len());
        for (name, unit, meaning) in UNITS_AND_MEANINGS {
            let entry = &profile.entries[*name];
            assert!(!unit.is_empty() && meaning.len() > 5);
            assert!(entry.source.len() > 5, "{}: {name}: {}", profile.name, entry.source);
        }
    }
}

#[test]
fn sourced_and_derived_numbers_name_a_known_title() {
    let known = |source: &str| TITLES.iter().any(|title| source.contains(title));
    for profile in profiles() {
        for (name, entry) in &profile.entries {
            if entry.mark != Mark::J {
                assert!(known(&entry.source), "{}: {name}: {}", profile.name, entry.source);
            }
        }
    }
}

/// Values copied from the cited sources by hand, not from the profiles.
#[test]
fn published_values_stand_as_they_were_published() {
    let cap = garment::built_in("finished-cap").unwrap().numbers;
    // Hat Tricks: 2.25 in. Cap Embroidery Made Easy: 2 1/8 in. Embroider designs on caps: 0.5 in.
    assert!((cap.frame_height_mm - 2.25 * 25.4).abs() < 0.06);
    assert!((cap.frame_height_warn_mm - 2.125 * 25.4).abs() < 0.06);
    assert!((cap.brim_clear_mm - 0.5 * 25.4).abs() < 0.06);
    // Hat design: 4.0 in wide. 3 Tips: 6 in.
    assert!((cap.frame_width_warn_mm - 4.0 * 25.4).abs() < 0.06);
    assert!((cap.frame_width_mm - 6.0 * 25.4).abs() < 0.5);
    // Types of Caps: low-profile unstructured 2.2 in.
    let soft = garment::built_in("unstructured-cap").unwrap().numbers;
    assert!((soft.frame_height_mm - 2.2 * 25.4).abs() < 0.06);
    // Embroidery at a stretch.
    assert_eq!(cap.overlap_allowance_mm, 1.0);
    assert_eq!(cap.edge_run_inset_mm, 0.6);
    assert_eq!(cap.edge_run_min_width_mm, 1.5);
    assert!((5.0..=15.0).contains(&cap.fill_turn_to_deg));
    // Printwear Feb 2016 p. 61: satin 1.0 to 9.0; p. 63: fill stitch 3, 4, 5.
    assert_eq!((cap.satin_width_fault_mm, cap.satin_width_split_mm), (1.0, 9.0));
    assert_eq!(cap.fill_stitch_mm, 4.0);
    // Embroidery format DST: 121 points of 0.1 mm.
    assert_eq!(cap.stitch_max_mm, 12.1);
}

#[test]
fn caps_get_all_repairs_flats_two_and_both_the_clean_up() {
    for profile in profiles() {
        let cap = profile.name.ends_with("cap");
        assert_eq!(profile.seam, cap);
        // Rewriting jumps saves time, no stitch: only when asked for.
        let on_caps = PassName::ALL.into_iter().filter(|pass| *pass != PassName::JumpRuns);
        let caps_only = [PassName::TurnFill, PassName::Guard, PassName::Sequence];
        let wanted = on_caps.filter(|pass| cap || !caps_only.contains(pass));
        assert_eq!(profile.passes, wanted.collect::<Vec<_>>());
    }
}

#[test]
fn thresholds_leave_room_between_acting_and_aiming() {
    for profile in profiles() {
        let n = &profile.numbers;
        assert!(n.overlap_act_below_mm < n.overlap_allowance_mm);
        assert!(n.overlap_allowance_mm < n.overlap_aim_mm);
        assert!(n.edge_run_act_below < n.edge_run_aim && n.edge_run_aim <= 1.0);
        assert!(n.satin_width_fault_mm < n.satin_width_warn_mm);
        assert!(n.satin_width_warn_mm < n.satin_width_split_mm);
        assert!(n.satin_width_split_mm < n.stitch_max_mm);
        assert!(n.frame_height_warn_mm < n.frame_height_mm);
        assert!(n.frame_width_warn_mm < n.frame_width_mm);
    }
}

const SHOP_CAP: &str = r#"
name = "shop-cap"
about = "The low trucker cap of Ossel Quay"
base = "finished-cap"
[numbers]
frame_height_mm = { value = 50.8, mark = "J", source = "our frames" }
"#;

#[test]
fn a_profile_with_a_base_changes_only_what_it_names() {
    let shop = garment::parse(SHOP_CAP).unwrap();
    let cap = garment::built_in("finished-cap").unwrap();
    assert_eq!((shop.name.as_str(), shop.seam, &shop.passes), ("shop-cap", true, &cap.passes));
    assert_eq!(shop.numbers.frame_height_mm, 50.8);
    let differ = cap.entries.iter().filter(|(name, entry)| &shop.entries[*name] != *entry);
    assert_eq!(differ.map(|(name, _)| name.as_str()).collect::<Vec<_>>(), ["frame_height_mm"]);
}

fn refused(from: &str, to: &str) -> ProfileError {
    assert!(SHOP_CAP.contains(from));
    garment::parse(&SHOP_CAP.replace(from, to)).unwrap_err()
}

#[test]
fn what_is_wrong_with_a_profile_is_named() {
    let cases = [
        ("base =", "bass =", "line 4: unknown field `bass`"),
        ("frame_height_mm =", "frame_heigth_mm =", "'frame_heigth_mm' is not a number that"),
        ("source =", "sauce =", "unknown field `sauce`"),
        ("50.8", "nan", "'frame_height_mm' is NaN, which is not a sensible number of mm"),
        ("50.8", "-3", "'frame_height_mm' is -3"),
        ("\"our frames\"", "\" \"", "'frame_height_mm' has no source"),
        ("\"finished-cap\"", "\"beret\"", "base 'beret' is not a built-in garment"),
        ("base = \"finished-cap\"", "", "is missing; name it"),
        ("\"J\"", "\"X\"", "line 6: unknown variant `X`"),
        ("name = \"shop-cap\"", "name = ", "line 2: "),
    ];
    for (from, to, wanted) in cases {
        let message = refused(from, to).to_string();
        assert!(message.contains(wanted), "{from} → {to}: {message}");
        assert!(!message.contains('\n'), "{message}");
    }
}

#[test]
fn an_unknown_garment_says_how_to_list_them() {
    let message = garment::built_in("beret").unwrap_err().to_string();
    assert!(message.contains("'beret'") && message.contains("crownmend garments"), "{message}");
}

#[test]
fn an_allowance_moves_its_thresholds_with_it() {
    let mut cap = garment::built_in("finished-cap").unwrap();
    cap.set_allowance(1.3).unwrap();
    let n = &cap.numbers;
    assert_eq!((n.overlap_act_below_mm, n.overlap_allowance_mm, n.overlap_aim_mm), (1.2, 1.3, 1.4));
    for wrong in [0.0, 0.4, 3.1, -1.0, f64::NAN, f64::INFINITY] {
        let before = cap.clone();
        assert!(cap.set_allowance(wrong).is_err());
        assert_eq!(cap, before);
    }
}
