//! Weighing in air against published values: the density of moist air (CIPM-2007), the Z factors of ISO 8655-6, the
//! volume at 20 °C of ISO 4787, buoyancy, pycnometer.

use fillmark::bench::reference::{air, expansion, water, weighing};
use fillmark::bench::worksheet::Expr;
use serde_json::Value;

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

fn value(formula: &Expr) -> f64 {
    formula.value(&|_| f64::NAN)
}

fn n(value: f64) -> Expr {
    Expr::number(value)
}

/// Each step of CIPM-2007: vapour pressure (Pa), enhancement factor, vapour fraction, compressibility, density (kg/m³).
fn moist_air(celsius: f64, hectopascal: f64, humidity: f64) -> [f64; 5] {
    let (t, kelvin, p) = (n(celsius), n(celsius + 273.15), n(100.0 * hectopascal));
    let saturation = air::saturation_pressure(kelvin.clone());
    let enhancement = air::enhancement(p.clone(), t.clone());
    let vapour = air::vapour_fraction(
        n(humidity),
        enhancement.clone(),
        saturation.clone(),
        p.clone(),
    );
    let virial = air::virial(t, vapour.clone());
    let z = air::compressibility(p.clone(), kelvin.clone(), virial, vapour.clone());
    let density = air::density(p, z.clone(), kelvin, vapour.clone());
    [
        value(&saturation),
        value(&enhancement),
        value(&vapour),
        value(&z),
        1000.0 * value(&density),
    ]
}

#[test]
fn density_of_moist_air() {
    let rows: Vec<Value> =
        serde_json::from_str(include_str!("published/air_density.json")).unwrap();
    for row in &rows {
        let id = &row["id"];
        let (inputs, expected, tolerance) = (&row["inputs"], &row["expected"], &row["tolerance"]);
        let found = moist_air(
            number(&inputs["t_C"]),
            number(&inputs["pressure_hPa"]),
            number(&inputs["humidity_pc"]) / 100.0,
        );
        let close = tolerance["abs"]
            .as_f64()
            .unwrap_or_else(|| number(&tolerance["density_abs"]));
        let density = number(&expected["density_kg_m3"]);
        assert!((found[4] - density).abs() <= close, "{id}: {}", found[4]);
        let steps = [
            "saturation_vapour_pressure_Pa",
            "enhancement_factor",
            "vapour_mole_fraction",
            "compressibility_factor",
        ];
        for (step, found) in steps.iter().zip(found) {
            let Some(published) = expected[step].as_f64() else {
                continue;
            };
            let close = number(&tolerance["others_rel"]) * published.abs();
            assert!((found - published).abs() <= close, "{id}, {step}: {found}");
        }
    }
    assert_eq!(rows.len(), 8, "a row is gone");
}

#[test]
fn volume_and_density_by_weighing() {
    let rows: Vec<Value> =
        serde_json::from_str(include_str!("published/weighing_in_air.json")).unwrap();
    for row in &rows {
        let id = row["id"].as_str().unwrap();
        let input = |key: &str| row["inputs"][key].as_f64();
        let expected = |key: &str| number(&row["expected"][key]);
        let tolerance = number(&row["tolerance"]["abs"]);
        let thousandth = |kg: f64| n(kg / 1000.0);
        // The standard's table is for air of its pressure; half humid air of the water's temperature is meant.
        let of_air = input("air_density_kg_m3").unwrap_or_else(|| {
            moist_air(input("t_C").unwrap(), input("pressure_hPa").unwrap(), 0.5)[4]
        });
        let of_weights = input("weights_density_kg_m3").unwrap_or(8000.0);
        let (a, c) = (thousandth(of_air), thousandth(of_weights));
        let pure = || water::density(n(input("t_C").unwrap()));
        let (found, published) = match id.split('.').next().unwrap() {
            "z" => (
                value(&weighing::volume(n(1.0), a, c, pure())),
                expected("Z_mL_per_g"),
            ),
            "v20" => {
                let at_t = weighing::volume(n(input("reading_g").unwrap()), a, c, pure());
                let to_20 = expansion::to_reference(
                    n(input("gamma_per_C").unwrap()),
                    n(input("t_C").unwrap()),
                );
                (value(&(at_t * to_20)), expected("V20_mL"))
            }
            "buoyancy" => {
                let rho = thousandth(input("sample_density_kg_m3").unwrap());
                let reading = n(input("reading_g").unwrap());
                (
                    value(&weighing::mass(reading, a, c, rho)),
                    expected("mass_g"),
                )
            }
            "liquid-density" => {
                let net = n(input("filled_g").unwrap() - input("empty_g").unwrap());
                let volume = n(input("volume_mL").unwrap());
                (
                    value(&weighing::density(net, volume, a, c)),
                    expected("density_g_mL"),
                )
            }
            "pycnometer" => {
                let net = |key| n(input(key).unwrap() - input("empty_g").unwrap());
                let density = weighing::density_beside_water(
                    net("with_sample_g"),
                    net("with_water_g"),
                    pure(),
                    a.clone(),
                );
                let volume = value(&weighing::volume(net("with_water_g"), a, c, pure()));
                assert!(
                    (volume - expected("volume_at_t_mL")).abs() <= tolerance,
                    "{id}: volume {volume}"
                );
                (1000.0 * value(&density), expected("density_kg_m3"))
            }
            other => panic!("{other} is not checked"),
        };
        assert!(
            (found - published).abs() <= tolerance,
            "{id}: {found}, published {published}"
        );
    }
    assert_eq!(rows.len(), 32, "a row is gone");
}
