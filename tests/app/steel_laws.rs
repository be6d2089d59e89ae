//! Laws of sections: geometry decides, whatever the size; names read back; no text makes reading panic.

use hitchwright::domain::{
    measure::{Length, Units, read_length},
    steel::{Grade, Section, SectionKind, Standard},
};
use proptest::prelude::*;

fn settings() -> ProptestConfig {
    ProptestConfig { failure_persistence: None, ..ProptestConfig::default() }
}

fn standard() -> impl Strategy<Value = Standard> {
    prop::sample::select(Standard::ALL)
}

/// Tenths of a millimetre as a length.
fn tenths(tenths: i64) -> Length {
    Length::from_nm(tenths * 100_000)
}

/// Sections of every kind; what geometry does not allow is left out.
fn section() -> impl Strategy<Value = Section> {
    (prop::sample::select(SectionKind::ALL), 80i64..3000, 80i64..3000, 5i64..160, 5i64..160, standard())
        .prop_filter_map("a possible section", |(kind, depth, width, wall, flange, standard)| {
            let [depth, width, wall, flange] = [depth, width, wall, flange].map(tenths);
            match kind {
                SectionKind::Shs => Section::shs(depth, wall, standard),
                SectionKind::Rhs => Section::rhs(depth, width, wall, standard),
                SectionKind::Chs => Section::chs(depth, wall, standard),
                SectionKind::Angle => Section::angle(depth, width, wall),
                SectionKind::Channel => Section::channel(depth, width, wall, flange),
                SectionKind::Flat => Section::flat(depth, wall.max(tenths(10))),
                SectionKind::Round => Section::round(depth),
                SectionKind::Square => Section::square(depth),
            }
            .ok()
        })
}

/// Rectangular hollow sections with room for the corners of every standard.
fn rhs() -> impl Strategy<Value = (Length, Length, Length)> {
    (5i64..120).prop_flat_map(|wall| {
        let least = (6 * wall + 1).max(80);
        (least..3000, least..3000, Just(wall))
            .prop_map(|(depth, width, wall)| (tenths(depth), tenths(width), tenths(wall)))
    })
}

fn close(found: f64, expect: f64) -> bool {
    (found - expect).abs() <= 1e-9 * expect.abs().max(1e-9)
}

proptest! {
    #![proptest_config(settings())]

    #[test]
    fn a_name_reads_back(section in section()) {
        prop_assert_eq!(section.to_string().parse::<Section>(), Ok(section));
        let json = serde_json::to_string(&section).unwrap();
        prop_assert_eq!(serde_json::from_str::<Section>(&json).unwrap(), section);
    }

    #[test]
    fn a_sharper_corner_is_heavier_and_stiffer((depth, width, wall) in rhs()) {
        let properties = |standard| Section::rhs(depth, width, wall, standard).unwrap().properties();
        let (sharp, round) = (properties(Standard::En10210), properties(Standard::En10219));
        prop_assert!(sharp.mass_kg_per_m > round.mass_kg_per_m);
        prop_assert!(sharp.ix_mm4 > round.ix_mm4 && sharp.iy_mm4 > round.iy_mm4);
        prop_assert!(sharp.outside_m2_per_m > round.outside_m2_per_m);
    }

    #[test]
    fn a_design_wall_bears_less_and_weighs_the_same((depth, width, wall) in rhs()) {
        prop_assume!(wall <= tenths(50));
        let properties = |standard| Section::rhs(depth, width, wall, standard).unwrap().properties();
        let (design, nominal) = (properties(Standard::A500), properties(Standard::Is4923));
        prop_assert!(close(design.mass_kg_per_m, nominal.mass_kg_per_m));
        prop_assert!(design.area_mm2 < nominal.area_mm2 && design.ix_mm4 < nominal.ix_mm4);
    }

    #[test]
    fn the_plastic_modulus_is_greater_than_the_elastic(section in section()) {
        let p = section.properties();
        prop_assert!(p.wpl_x_mm3 > p.wel_x_mm3 && p.wpl_y_mm3 > p.wel_y_mm3, "{} {:?}", section, p);
    }

    #[test]
    fn every_property_is_a_sound_number(section in section()) {
        let p = section.properties();
        for value in [
            p.mass_kg_per_m, p.area_mm2, p.ix_mm4, p.iy_mm4, p.wel_x_mm3, p.wel_y_mm3, p.wpl_x_mm3, p.wpl_y_mm3, p.j_mm4,
            p.ct_mm3, p.av_depth_mm2, p.av_width_mm2, p.rx_mm, p.ry_mm, p.r_min_mm, p.outside_m2_per_m,
        ] {
            prop_assert!(value.is_finite() && value > 0.0, "{} {:?}", section, p);
        }
        prop_assert!(p.inside_m2_per_m >= 0.0 && p.inside_m2_per_m < p.outside_m2_per_m);
        prop_assert!(p.av_depth_mm2 <= p.area_mm2 * 1.000_001 && p.av_width_mm2 <= p.area_mm2 * 1.000_001, "{} {:?}", section, p);
        prop_assert!(p.r_min_mm <= p.rx_mm * 1.000_001 && p.r_min_mm <= p.ry_mm * 1.000_001);
        prop_assert!(p.rx_mm <= section.depth_mm() / 2.0 + 1e-9 && p.ry_mm <= section.width_mm() / 2.0 + 1e-9);
        prop_assert!(!p.source.is_empty());
    }

    #[test]
    fn a_turned_section_swaps_its_axes(section in section()) {
        prop_assume!(section.kind() != SectionKind::Channel);
        let (p, turned) = (section.properties(), section.turned().properties());
        for (one, other) in [
            (p.ix_mm4, turned.iy_mm4),
            (p.wel_x_mm3, turned.wel_y_mm3),
            (p.wpl_x_mm3, turned.wpl_y_mm3),
            (p.av_depth_mm2, turned.av_width_mm2),
            (p.j_mm4, turned.j_mm4),
            (p.area_mm2, turned.area_mm2),
        ] {
            prop_assert!((one / other - 1.0).abs() < 1e-6, "{} {} {}", section, one, other);
        }
        prop_assert!(section.upright().depth() >= section.upright().width());
    }

    #[test]
    fn mass_is_area_times_density(section in section(), density in 2000.0..9000.0f64) {
        prop_assume!(section.standard() != Some(Standard::A500));
        let p = section.properties();
        prop_assert!(close(p.mass_kg_per_m, p.area_mm2 * 7850e-6));
        prop_assert!(close(section.mass_kg_per_m(density), p.area_mm2 * density * 1e-6));
    }

    #[test]
    fn a_drawn_outline_has_the_area(section in section()) {
        prop_assume!(section.standard() != Some(Standard::A500));
        let area = |points: &Vec<[f64; 2]>| -> f64 {
            (0..points.len())
                .map(|n| (points[n], points[(n + 1) % points.len()]))
                .map(|([x, y], [next_x, next_y])| (x * next_y - next_x * y) / 2.0)
                .sum()
        };
        let shells = section.drawn();
        let drawn = area(&shells[0]) - shells.get(1).map_or(0.0, area);
        let expect = section.properties().area_mm2;
        prop_assert!((drawn / expect - 1.0).abs() < 0.02, "{} {} {}", section, drawn, expect);
        let half = [section.width_mm() / 2.0, section.depth_mm() / 2.0];
        for point in &shells[0] {
            prop_assert!(point[0].abs() <= half[0] + 1e-6 && point[1].abs() <= half[1] + 1e-6);
        }
    }

    #[test]
    fn inches_and_millimetres_name_the_same_section(sixteenths in (32i64..128, 32i64..128, 2i64..5)) {
        let (depth, width, wall) = sixteenths;
        let inches = format!("rhs {depth}/16 x {width}/16 x {wall}/16 in");
        let length = |parts| Length::from_nm(parts * 1_587_500);
        let metric = Section::rhs(length(depth), length(width), length(wall), Standard::En10219);
        prop_assert_eq!(inches.parse::<Section>(), metric);
        prop_assert_eq!(read_length(&format!("{depth}/16"), Units::Metric), Ok(length(depth)));
    }

    #[test]
    fn no_text_makes_reading_panic(
        text in prop_oneof![
            any::<String>(),
            "(shs|RHS|chs|angle|channel|flat|round|square|upn|c|l)? ?[0-9x×. /\"-]{0,16} ?(in|mm|ga|10 ga bwg|swg|en10210|EN 10219-2|a500)?",
        ]
    ) {
        match text.parse::<Section>() {
            Ok(section) => prop_assert!(section.properties().mass_kg_per_m > 0.0),
            Err(fault) => prop_assert!(!fault.to_string().is_empty()),
        }
        let _ = text.parse::<Grade>().map_err(|fault| fault.to_string());
    }
}
