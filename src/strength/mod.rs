//! What the arms carry, what gives first, whether a bolted pivot holds, and how to lock the cams out.
//!
//! Everything here is a comparison on stated assumptions and no structural approval: rigid links in ball joints, loads that
//! stand still, ratings as the profile gives them. Local codes and the makers' ratings rule.

mod balance;
mod loads;
mod lockout;

pub use balance::{Balance, Wrench};
pub use loads::{CaseFactors, CaseLoads, Holder, LinkLoad, LoadSide, Loads, loads};
pub use lockout::{LockedArm, LockedSetting, Locking, Lockout, LockoutSide, lockout};
