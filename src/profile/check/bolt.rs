//! The bolt at an end of a link.

use toml::Spanned;

use super::Checker;
use crate::car::{Bolt, PropertyClass, Surface, Thread};
use crate::profile::finding::Finding;
use crate::profile::layers::Layers;
use crate::profile::load::Torque;
use crate::profile::schema;

impl Checker {
    pub(super) fn bolt(&mut self, keys: &Layers<'_, schema::Bolt>) -> Option<Bolt> {
        let thread = self.need(keys, "thread", |bolt| &bolt.thread).and_then(|(text, _)| {
            let thread = text.get_ref().parse();
            thread
                .map_err(|error| {
                    let headline = format!("\"{}\" is {error}", text.get_ref());
                    self.tell(Finding::error(text.span(), headline).label("this thread"));
                })
                .ok()
        });
        let size = thread.as_ref().map(|thread: &Thread| thread.diameter);
        let class =
            self.need(keys, "class", |bolt| &bolt.class).and_then(|(class, _)| self.class(class, size));
        let torque = keys.get(|bolt| &bolt.torque).and_then(|(value, _)| self.torque(value));
        let surface = keys.get(|bolt| &bolt.threads).map_or(Some(Surface::Dry), |(name, _)| {
            let found = Surface::ALL.into_iter().find(|surface| surface.name() == name.get_ref().trim());
            if found.is_none() {
                self.tell(
                    Finding::error(name.span(), "how the threads are is not understood")
                        .label("\"dry\", \"oiled\" or \"anti-seize\""),
                );
            }
            found
        });
        let nut_factor = keys.get(|bolt| &bolt.nut_factor).and_then(|(list, _)| {
            self.stretch(
                list,
                "the nut factor",
                [0.03, 0.6],
                "from - to of K in T = K F d: nut_factor = [0.15, 0.20]",
            )
        });
        let friction = keys.get(|bolt| &bolt.friction).map_or(Some(Bolt::FRICTION), |(list, _)| {
            self.stretch(
                list,
                "the friction of the clamped faces",
                [0.02, 1.0],
                "from - to: friction = [0.10, 0.20]",
            )
        });
        let faces = keys.get(|bolt| &bolt.faces).map_or(Some(2), |(faces, _)| {
            let count = u32::try_from(*faces.get_ref()).ok().filter(|count| (1..=4).contains(count));
            if count.is_none() {
                self.tell(
                    Finding::error(faces.span(), "faces counts the clamped faces that would have to slip")
                        .label("1 to 4; a sleeve between two ears has 2, an eye bolted to one face has 1"),
                );
            }
            count
        });
        Some(Bolt {
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

    fn torque(&mut self, value: &Spanned<Torque>) -> Option<f64> {
        let Torque(torque) = *value.get_ref();
        let torque = self.above_zero(value, torque, "a torque")?;
        if (1.0..2000.0).contains(&torque) {
            return Some(torque);
        }
        self.tell(
            Finding::error(value.span(), format!("no pivot's nut is torqued to {torque} N m"))
                .help("a bare number is N m; others need their unit: \"80 lbf ft\""),
        );
        None
    }

    /// Two numbers, from - to.
    fn stretch(
        &mut self,
        list: &Spanned<Vec<f64>>,
        what: &str,
        [least, most]: [f64; 2],
        help: &str,
    ) -> Option<[f64; 2]> {
        let range = <[f64; 2]>::try_from(list.get_ref().as_slice()).ok();
        let range = range.filter(|[from, to]| least <= *from && from <= to && *to <= most);
        if range.is_none() {
            self.tell(
                Finding::error(list.span(), format!("{what} is not understood"))
                    .label(format!("two numbers, {least} to {most}, the smaller one first"))
                    .help(help),
            );
        }
        range
    }
}
