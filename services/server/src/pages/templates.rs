//! The templates, compiled in.

use std::sync::Arc;

use serde::Serialize;
use tera::{Context, Tera};

use crate::{Ended, Exit};

/// All templates by name. Each name ends in `.html`, which is what makes the engine escape values.
const SOURCES: [(&str, &str); 11] = [
    ("frame.html", include_str!("../templates/frame.html")),
    ("sign_in.html", include_str!("../templates/sign_in.html")),
    ("projects.html", include_str!("../templates/projects.html")),
    ("project.html", include_str!("../templates/project.html")),
    ("segment.html", include_str!("../templates/segment.html")),
    ("build.html", include_str!("../templates/build.html")),
    ("issuer.html", include_str!("../templates/issuer.html")),
    ("answered.html", include_str!("../templates/answered.html")),
    ("links.html", include_str!("../templates/links.html")),
    ("crew_day.html", include_str!("../templates/crew_day.html")),
    ("problem.html", include_str!("../templates/problem.html")),
];

/// Templates ready to render.
#[derive(Clone)]
pub(crate) struct Templates(Arc<Tera>);

impl Templates {
    pub(crate) fn new() -> Result<Self, Ended> {
        let mut tera = Tera::new();
        tera.add_raw_templates(SOURCES)
            .map_err(|error| Ended::new(Exit::Failure, format!("templates: {error}")))?;
        Ok(Self(Arc::new(tera)))
    }

    pub(crate) fn render(&self, name: &str, data: &impl Serialize) -> Result<String, String> {
        let context = Context::from_serialize(data).map_err(|error| error.to_string())?;
        self.0
            .render(name, &context)
            .map_err(|error| error.to_string())
    }
}
