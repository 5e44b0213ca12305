//! The bolt at an end of a link.

use toml::Spanned;

use super::checker::Checker;
use crate::car::{self, PropertyClass, Surface, is_ordinary};
use crate::profile::finding::Finding;
use crate::profile::keys::Bolt;
use crate::profile::layers::Layers;

impl Checker {
    pub(super) fn bolt(&mut self, keys: &Layers<'_, Bolt>) -> Option<car::Bolt> {
        let thread = self.found(keys, Bolt::thread).and_then(|(text, _)| self.thread(text));
        let size = thread.as_ref().map(|thread| thread.diameter);
        let class = self.found(keys, Bolt::class).and_then(|(class, _)| self.class(class, size));
        if let (Some(class), Some(thread)) = (&class, &thread)
            && class.is_of_inches() != thread.is_of_inches()
        {
            self.tell(
                Finding::warning(
                    keys.span_of(Bolt::class),
                    "inch bolts have grades, metric ones property classes",
                )
                .label(format!("{} on {}", class.name(), thread.size))
                .help(
                    "grade 5 has three lines on its head, grade 8 six; a metric bolt has figures such as 8.8",
                ),
            );
        }
        let torque = self.read(keys, Bolt::torque);
        if let Some((torque, size)) = torque.zip(size)
            && !is_ordinary("torque", torque / size.powi(3))
        {
            self.tell(
                Finding::warning(keys.span_of(Bolt::torque), format!("hardly a bolt of {size} mm is tightened like that"))
                    .label(format!("{torque:.1} N m"))
                    .help("Is its decimal point at the wrong place? Torque is N m; others need their unit: \"80 lbf ft\"."),
            );
        }
        let surface = keys.get(Bolt::lubrication).map_or(Some(Surface::Dry), |(name, _)| {
            let found = Surface::ALL.into_iter().find(|surface| surface.name() == name.get_ref().trim());
            if found.is_none() {
                self.tell(
                    Finding::error(name.span(), "how the threads are is not understood")
                        .label("\"dry\", \"oiled\" or \"anti-seize\""),
                );
            }
            found
        });
        let nut_factor =
            keys.get(Bolt::nut_factor).and_then(|(list, _)| self.stretch(Bolt::nut_factor.key, list));
        let friction = keys
            .get(Bolt::friction)
            .map_or(Some(car::Bolt::FRICTION), |(list, _)| self.stretch(Bolt::friction.key, list));
        let faces = match self.read(keys, Bolt::faces) {
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "a few, by its range"
            )]
            Some(faces) => Some(faces as u32),
            None => keys.get(Bolt::faces).is_none().then_some(2),
        };
        Some(car::Bolt {
            thread: thread?,
            class: class?,
            torque,
            surface: surface?,
            nut_factor,
            friction: friction?,
            faces: faces?,
        })
    }

    /// A property class, of a thread of so many mm where that is known.
    pub(super) fn class(&mut self, text: &Spanned<String>, size: Option<f64>) -> Option<PropertyClass> {
        let Some(class) = PropertyClass::named(text.get_ref()) else {
            self.tell(
                Finding::error(text.span(), "this property class is not in the table")
                    .label("as it stands on the bolt's head")
                    .help(format!("the classes are: {}", PropertyClass::names().join(", "))),
            );
            return None;
        };
        if size.is_some_and(|size| size > class.up_to()) {
            let headline = format!("no thread this thick is made in class {}", class.name());
            self.tell(
                Finding::error(text.span(), headline)
                    .label(format!("up to {} mm", class.up_to()))
                    .help("look at the thread and at the figures on the head again"),
            );
            return None;
        }
        Some(class)
    }
}
