//! `hitchwright section`: what a section weighs and bears.

use std::{
    fmt::Write as _,
    io::{self, Write as _},
    process::ExitCode,
};

use serde::Serialize;

use crate::domain::{
    measure::{Grouping, show_number},
    steel::{Properties, Section, Standard},
};

/// Mass, area, moments and surfaces of a section, with their source.
///
/// Dimensions are millimetres, depth first; write in after a size in inches: `section rhs 100x50x3`, `section rhs 4x2x1/8 in --standard a500`,
/// `section rhs 4x2 10 ga bwg`, `section channel upn 80`. x is the axis of bending in the depth. A design aid, not a certification.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Kind of section: shs, rhs, chs, angle, channel, flat, round or square
    kind: String,
    /// Its size, such as 100x50x3
    #[arg(required = true, num_args = 1..)]
    size: Vec<String>,
    /// Standard of a hollow section: en10219, en10210, is4923 or a500; fixes its corner radii, and for a500 the design wall [default: en10219]
    #[arg(long)]
    standard: Option<String>,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

/// What is printed as JSON.
#[derive(Serialize)]
struct Printed<'p> {
    mass_kg_per_m: f64,
    area_mm2: f64,
    ix_mm4: f64,
    iy_mm4: f64,
    wel_x_mm3: f64,
    wel_y_mm3: f64,
    wpl_x_mm3: f64,
    wpl_y_mm3: f64,
    j_mm4: f64,
    outside_m2_per_m: f64,
    inside_m2_per_m: f64,
    source: &'p str,
}

/// Exit code 2 and one line on standard error where there is no such section.
pub fn run(args: Args) -> ExitCode {
    match section(&args) {
        Ok(section) => {
            let properties = section.properties();
            let text = if args.json { json(&properties) } else { table(&section, &properties) };
            // A reader that closed the pipe has read enough.
            let _ = writeln!(io::stdout(), "{text}");
            ExitCode::SUCCESS
        }
        Err(fault) => {
            eprintln!("hitchwright section: {fault}");
            ExitCode::from(2)
        }
    }
}

fn section(args: &Args) -> Result<Section, String> {
    let section: Section =
        format!("{} {}", args.kind, args.size.join(" ")).parse().map_err(|fault| format!("{fault}"))?;
    let Some(word) = &args.standard else { return Ok(section) };
    let standard = Standard::from_word(&word.to_lowercase())
        .ok_or_else(|| format!("“{word}” is not a standard: use en10219, en10210, is4923 or a500"))?;
    if !section.is_hollow() && standard != Standard::En10219 {
        return Err(format!(
            "{standard} is a standard of hollow sections: leave --standard out for the {}",
            section.kind()
        ));
    }
    section.to_standard(standard).map_err(|fault| fault.to_string())
}

fn json(properties: &Properties) -> String {
    let printed = Printed {
        mass_kg_per_m: properties.mass_kg_per_m,
        area_mm2: properties.area_mm2,
        ix_mm4: properties.ix_mm4,
        iy_mm4: properties.iy_mm4,
        wel_x_mm3: properties.wel_x_mm3,
        wel_y_mm3: properties.wel_y_mm3,
        wpl_x_mm3: properties.wpl_x_mm3,
        wpl_y_mm3: properties.wpl_y_mm3,
        j_mm4: properties.j_mm4,
        outside_m2_per_m: properties.outside_m2_per_m,
        inside_m2_per_m: properties.inside_m2_per_m,
        source: &properties.source,
    };
    serde_json::to_string_pretty(&printed).unwrap_or_else(|fault| fault.to_string())
}

fn table(section: &Section, properties: &Properties) -> String {
    let mut text = format!("{section}: {}\n", section.kind());
    let rows = [
        ("mass", properties.mass_kg_per_m, 3, "kg/m"),
        ("area", properties.area_mm2, 1, "mm²"),
        ("Ix, bending in the depth", properties.ix_mm4, 0, "mm⁴"),
        ("Iy, bending in the width", properties.iy_mm4, 0, "mm⁴"),
        ("Wel,x", properties.wel_x_mm3, 1, "mm³"),
        ("Wel,y", properties.wel_y_mm3, 1, "mm³"),
        ("Wpl,x", properties.wpl_x_mm3, 1, "mm³"),
        ("Wpl,y", properties.wpl_y_mm3, 1, "mm³"),
        ("J, torsion", properties.j_mm4, 0, "mm⁴"),
        ("surface outside", properties.outside_m2_per_m, 4, "m²/m"),
        ("surface inside", properties.inside_m2_per_m, 4, "m²/m"),
    ];
    for (what, value, decimals, unit) in rows {
        let _ = writeln!(text, "  {what:<26}{:>14} {unit}", show_number(value, decimals, Grouping::Western));
    }
    text + "  source: " + &properties.source
}
