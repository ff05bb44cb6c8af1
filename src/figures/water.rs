//! Water and air: where water boils at the shop's height, and what boiling it off takes.

/// Standard pressure at sea level, Pa, and the model's constants (US Standard Atmosphere 1976; ISO 2533).
const SEA_LEVEL_PA: f64 = 101_325.0;
const SEA_LEVEL_K: f64 = 288.15;
const LAPSE_K_M: f64 = 0.006_5;
const GRAVITY: f64 = 9.806_65;
const MOLAR_KG: f64 = 0.028_964_4;
const GAS: f64 = 8.314_32;
const EARTH_RADIUS_M: f64 = 6_356_766.0;

/// Pressure at a height above sea level, in Pa; the height is geometric, as on a map.
///
/// p = p0 (1 - L H / T0)^(g M / (R L)) with the geopotential height H = r z / (r + z), up to 11 km.
pub fn pressure_at(metres: f64) -> f64 {
    let height = EARTH_RADIUS_M * metres / (EARTH_RADIUS_M + metres);
    let exponent = GRAVITY * MOLAR_KG / (GAS * LAPSE_K_M);
    SEA_LEVEL_PA * (1.0 - LAPSE_K_M * height / SEA_LEVEL_K).powf(exponent)
}

/// Coefficients of the backward equation for saturation, IAPWS-IF97 region 4 (from memory, checked against
/// published values in tests/figures).
const N: [f64; 10] = [
    0.116_705_214_527_67e4,
    -0.724_213_167_032_06e6,
    -0.170_738_469_400_92e2,
    0.120_208_247_024_70e5,
    -0.323_255_503_223_33e7,
    0.149_151_086_135_30e2,
    -0.482_326_573_615_91e4,
    0.405_113_405_420_57e6,
    -0.238_555_575_678_49,
    0.650_175_348_447_98e3,
];

/// The temperature at which water boils under a pressure in Pa, in degrees Celsius (IAPWS-IF97, region 4).
pub fn boiling_at(pascals: f64) -> f64 {
    let beta = (pascals / 1e6).powf(0.25);
    let e = beta * beta + N[2] * beta + N[5];
    let f = N[0] * beta * beta + N[3] * beta + N[6];
    let g = N[1] * beta * beta + N[4] * beta + N[7];
    let d = 2.0 * g / (-f - (f * f - 4.0 * e * g).sqrt());
    let sum = N[9] + d;
    (sum - (sum * sum - 4.0 * (N[8] + N[9] * d)).sqrt()) / 2.0 - 273.15
}

/// Heat of vaporisation in kJ/kg at a temperature in degrees Celsius, 80 to 105.
///
/// A straight line through two values of the reference table (2293.02 at 85.9258 C, 2256.54 at 99.9743 C;
/// IAPWS-IF97): within 0.15 kJ/kg of all others between 60 kPa and 101.325 kPa.
pub fn latent_heat(celsius: f64) -> f64 {
    const AT: (f64, f64) = (85.9258, 2293.02);
    const SLOPE: f64 = (2256.54 - 2293.02) / (99.9743 - 85.9258);
    AT.1 + SLOPE * (celsius - AT.0)
}

/// Specific heat of liquid water in kJ/(kg K), the mean between 20 and 100 C (4.18 to 4.22; two codes).
pub const WATER_HEAT: f64 = 4.19;
