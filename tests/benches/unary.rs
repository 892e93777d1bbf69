//! Walls worked out: a call that reads nothing and writes nothing.

use obvert_proto::{
    common::v1::ThicknessBasis,
    design::v1::{
        CheckWallRequest, ConstantsPath, DesignSection, HostCondition, LiveLoadMethod,
        OvalityPlace, WallInputs, design_service_client::DesignServiceClient,
    },
};
use prost::Message;

use crate::{
    bare,
    calls::{self, CHANNELS, ECHO, Payload},
    load::per_second,
    pairs,
    support::Server,
};

/// Measures CheckWall beside an echo of as many bytes.
pub(crate) async fn measure(bare: &bare::Child) {
    let server = Server::start("");
    let keyed = calls::keyed(&server).await;
    let clients: Vec<_> = keyed.into_iter().map(DesignServiceClient::new).collect();
    let echoes = calls::channels(bare.address).await;
    let asked = CheckWallRequest {
        inputs: Some(inputs()),
        with_sensitivities: false,
    };
    let answer = clients[0]
        .clone()
        .check_wall(asked.clone())
        .await
        .expect("a wall")
        .into_inner();
    let payload = Payload::of(asked.encoded_len(), answer.encoded_len(), 0);
    for callers in [1, 16, 64] {
        let what = format!(
            "CheckWall, {callers} in flight ({} B in, {} B out)",
            asked.encoded_len(),
            answer.encoded_len()
        );
        let product = async || {
            let (clients, asked) = (clients.clone(), asked.clone());
            let call = move |caller: usize| {
                let mut client = clients[caller % CHANNELS].clone();
                let asked = asked.clone();
                async move {
                    client.check_wall(asked).await.expect("a wall");
                }
            };
            per_second(callers, call).await
        };
        let ceiling = async || {
            let (echoes, payload) = (echoes.clone(), payload.clone());
            let call = move |caller: usize| {
                calls::bare(echoes[caller % CHANNELS].clone(), ECHO, payload.clone())
            };
            per_second(callers, call).await
        };
        pairs::measure(&what, product, ceiling).await;
    }
}

/// An invented 200 mm pipe under a yard.
pub(crate) fn inputs() -> WallInputs {
    WallInputs {
        host_condition: HostCondition::FullyDeteriorated.into(),
        ovality_place: OvalityPlace::InsideRoot.into(),
        constants: ConstantsPath::Us.into(),
        host_inside_diameter_mm: 200.0,
        ovality_percent: 2.0,
        short_term_flexural_modulus_mpa: 8_000.0,
        modulus_retention_factor: 0.7,
        long_term_flexural_strength_mpa: 120.0,
        short_term_flexural_strength_mpa: 200.0,
        poisson_ratio: 0.3,
        safety_factor: 2.0,
        enhancement_factor: 7.0,
        soil_unit_weight_kn_per_m3: 18.85,
        soil_modulus_mpa: 6.9,
        live_load_method: LiveLoadMethod::Entered.into(),
        sections: vec![DesignSection {
            station_m: 0.0,
            cover_m: 2.4,
            groundwater_above_crown_m: 1.2,
            live_load_mpa: Some(0.002_4),
            ..DesignSection::default()
        }],
        thickness_basis: ThicknessBasis::Structural.into(),
        owner_minimum_wall_mm: 3.0,
        wall_step_mm: 0.5,
        sources: Vec::new(),
        ..WallInputs::default()
    }
}
