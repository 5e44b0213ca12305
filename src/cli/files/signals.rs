//! Signals that end the program: they wait while a file of no lasting name lies about.

use signal_hook::consts::{SIGINT, TERM_SIGNALS};
use signal_hook::flag::{register, register_conditional_default};
use signal_hook::low_level::emulate_default_handler;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, OnceLock};

/// One signal.
struct Signal {
    number: i32,
    /// Whether it ends the program at once.
    ends: Arc<AtomicBool>,
    /// Whether it came.
    came: Arc<AtomicBool>,
}

/// The signals that end a program; where one cannot be caught it does so at any time.
fn signals() -> &'static [Signal] {
    static SIGNALS: OnceLock<Vec<Signal>> = OnceLock::new();
    SIGNALS.get_or_init(|| {
        let caught = |number: i32| {
            let (ends, came) = (Arc::new(AtomicBool::new(true)), Arc::new(AtomicBool::new(false)));
            register_conditional_default(number, Arc::clone(&ends)).ok()?;
            register(number, Arc::clone(&came)).ok()?;
            Some(Signal { number, ends, came })
        };
        TERM_SIGNALS.iter().filter_map(|number| caught(*number)).collect()
    })
}

/// From now on Ctrl-C does not end the program but is noted here.
pub(in crate::cli) fn note_interrupts() -> Arc<AtomicBool> {
    let interrupt = signals().iter().find(|signal| signal.number == SIGINT);
    interrupt.map_or_else(Arc::default, |signal| {
        signal.ends.store(false, Ordering::Relaxed);
        Arc::clone(&signal.came)
    })
}

/// As long as this lives no signal ends the program; one that came does so afterwards.
pub(super) struct Waiting(Vec<&'static Signal>);

impl Waiting {
    pub(super) fn begin() -> Self {
        Self(signals().iter().filter(|signal| signal.ends.swap(false, Ordering::SeqCst)).collect())
    }
}

impl Drop for Waiting {
    fn drop(&mut self) {
        for signal in &self.0 {
            signal.ends.store(true, Ordering::SeqCst);
            if signal.came.load(Ordering::SeqCst) {
                // Does not come back.
                let _ = emulate_default_handler(signal.number);
            }
        }
    }
}
