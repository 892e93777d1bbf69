//! What water, soil and traffic ask of a liner at one section of a segment.
//!
//! The equations of ASTM F1216 are printed with US constants and with SI constants, and the two
//! differ by up to 0.2 percent. [`ConstantsPath`] says which set was used and belongs in the
//! record. All numbers go in and out in SI; on the US path they are converted, put through the
//! equations as printed in US units, and converted back with exact factors.

use crate::elastic_support::{ElasticSupportSi, ElasticSupportUs};
use crate::external_load::{BuoyancyFactor, ExternalLoadSi, ExternalLoadUs};
use crate::field::{Problems, inputs};
use crate::groundwater::{WATER_MPA_PER_M, WATER_PSI_PER_FT, above_crown_m};
use crate::stiffness::{STIFFNESS_LIMIT_SI_MPA, STIFFNESS_LIMIT_US_MPA};
use crate::units::{ft_from_m, mpa_from_psi, pcf_from_kn_per_m3, psi_from_mpa};

/// Which printed constants a design uses.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ConstantsPath {
    /// 62.4/144 and 0.433 psi per ft, 0.065 per ft, 0.093 psi.
    Us,
    /// 0.00981 MPa per m, 0.213 per m, 0.00064 MPa.
    Si,
}

inputs! {
    /// One section of a segment at which the wall is checked.
    pub struct DesignSection {
        /// Distance from the datum of the segment's stations.
        station_m: "m" in -10.0..=5000.0,
        /// Soil cover above the crown.
        cover_m: "m" in 0.0..=60.0,
        /// Groundwater above the INVERT; the head above the crown follows from the diameter.
        groundwater_above_invert_m: "m" in 0.0..=100.0,
        /// Live load at the crown, by whatever method; 0 where there is no traffic.
        live_load_mpa: "MPa" in 0.0..=1.0,
    }
}

/// The loads and soil factors at one section, in the order in which they are computed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SectionDemand {
    /// Station of the section.
    pub station_m: f64,
    /// Cover at the section.
    pub cover_m: f64,
    /// Groundwater above the crown, H_w.
    pub groundwater_above_crown_m: f64,
    /// Groundwater pressure at the invert, P.
    pub groundwater_pressure_mpa: f64,
    /// Water buoyancy factor, R_w.
    pub buoyancy_factor: f64,
    /// Coefficient of elastic support, B′.
    pub elastic_support: f64,
    /// Total external load, q_t.
    pub external_load_mpa: f64,
}

impl ConstantsPath {
    /// Least stiffness E·I/D³ as this set prints it.
    pub fn stiffness_limit_mpa(self) -> f64 {
        match self {
            Self::Us => STIFFNESS_LIMIT_US_MPA,
            Self::Si => STIFFNESS_LIMIT_SI_MPA,
        }
    }

    fn groundwater_pressure_mpa(self, head_m: f64) -> f64 {
        match self {
            Self::Us => mpa_from_psi(ft_from_m(head_m) * WATER_PSI_PER_FT),
            Self::Si => head_m * WATER_MPA_PER_M,
        }
    }

    fn elastic_support(self, cover_m: f64) -> Result<f64, Problems> {
        match self {
            Self::Us => ElasticSupportUs {
                cover_ft: ft_from_m(cover_m),
            }
            .elastic_support(),
            Self::Si => ElasticSupportSi { cover_m }.elastic_support(),
        }
    }

    fn external_load_mpa(self, load: ExternalLoadSi) -> Result<f64, Problems> {
        match self {
            Self::Si => load.external_load_mpa(),
            Self::Us => ExternalLoadUs {
                groundwater_above_crown_ft: ft_from_m(load.groundwater_above_crown_m),
                cover_ft: ft_from_m(load.cover_m),
                soil_unit_weight_pcf: pcf_from_kn_per_m3(load.soil_unit_weight_kn_per_m3),
                live_load_psi: psi_from_mpa(load.live_load_mpa),
            }
            .external_load_psi()
            .map(mpa_from_psi),
        }
    }
}

impl DesignSection {
    /// Loads and soil factors at this section for a pipe in a soil.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn demand(
        &self,
        path: ConstantsPath,
        host_diameter_mm: f64,
        soil_unit_weight_kn_per_m3: f64,
    ) -> Result<SectionDemand, Problems> {
        self.check()?;
        let Self {
            station_m,
            cover_m,
            live_load_mpa,
            ..
        } = *self;
        let groundwater_above_crown_m =
            above_crown_m(self.groundwater_above_invert_m, host_diameter_mm);
        let load = ExternalLoadSi {
            groundwater_above_crown_m,
            cover_m,
            soil_unit_weight_kn_per_m3,
            live_load_mpa,
        };
        Ok(SectionDemand {
            station_m,
            cover_m,
            groundwater_above_crown_m,
            groundwater_pressure_mpa: path
                .groundwater_pressure_mpa(self.groundwater_above_invert_m),
            buoyancy_factor: BuoyancyFactor {
                groundwater_above_crown_m,
                cover_m,
            }
            .buoyancy_factor()?,
            elastic_support: path.elastic_support(cover_m)?,
            external_load_mpa: path.external_load_mpa(load)?,
        })
    }
}
