//! Figures of manufacturing by their standard definitions (ISO 22400-2, element names as there).
//!
//! Times are in seconds, quantities in items. A ratio over nothing is None, never 0.

use serde::Serialize;

/// What the ratios are made of.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
#[serde(rename_all = "UPPERCASE")]
pub struct Elements {
    /// Actual production time.
    pub apt: f64,
    /// Planned busy time: operation time less planned downtime, breaks among it.
    pub pbt: f64,
    /// Actual unit busy time: production, and what making ready for it takes.
    pub aubt: f64,
    /// Actual order execution time, from start to end.
    pub aoet: f64,
    /// Planned run time per item.
    pub pri: f64,
    /// Produced, good and rework quantity, in items; scrap quantity, in parts as those below.
    pub pq: f64,
    pub gq: f64,
    pub sq: f64,
    pub rq: f64,
    /// Good and inspected parts of the first run, single items known by name.
    pub gp: f64,
    pub ip: f64,
}

/// The ratios.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Ratios {
    pub availability: Option<f64>,
    /// May exceed 1 where a plan can be beaten.
    pub effectiveness: Option<f64>,
    pub quality_ratio: Option<f64>,
    pub oee_index: Option<f64>,
    /// Items an hour.
    pub throughput_rate: Option<f64>,
    pub first_pass_yield: Option<f64>,
    pub scrap_ratio: Option<f64>,
    pub rework_ratio: Option<f64>,
    pub allocation_efficiency: Option<f64>,
    pub utilization_efficiency: Option<f64>,
}

fn ratio(part: f64, of: f64) -> Option<f64> {
    (of > 0.0).then(|| part / of)
}

impl Elements {
    /// Availability APT/PBT, effectiveness PRI PQ/APT, quality ratio GQ/PQ, OEE index their product, throughput
    /// rate PQ/AOET, first pass yield GP/IP, scrap ratio SQ/IP (parts here, as the yield has them), rework ratio
    /// RQ/PQ, allocation efficiency AUBT/PBT, utilization efficiency APT/AUBT.
    pub fn ratios(&self) -> Ratios {
        const HOUR: f64 = 3600.0;
        let availability = ratio(self.apt, self.pbt);
        let effectiveness = ratio(self.pri * self.pq, self.apt);
        let quality = ratio(self.gq, self.pq);
        let product = availability.zip(effectiveness).zip(quality);
        Ratios {
            availability,
            effectiveness,
            quality_ratio: quality,
            oee_index: product.map(|((a, e), q)| a * e * q),
            throughput_rate: ratio(self.pq * HOUR, self.aoet),
            first_pass_yield: ratio(self.gp, self.ip),
            scrap_ratio: ratio(self.sq, self.ip),
            rework_ratio: ratio(self.rq, self.pq),
            allocation_efficiency: ratio(self.aubt, self.pbt),
            utilization_efficiency: ratio(self.apt, self.aubt),
        }
    }
}
