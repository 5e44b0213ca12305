//! What the arms carry, what gives first, whether a bolted pivot holds, and how to lock the cams out.
//!
//! Everything here is a comparison on stated assumptions and no structural approval: rigid links in ball joints, loads that
//! stand still, ratings as the profile gives them. Local codes and the makers' ratings rule.

mod balance;
pub mod capacity;
mod chain;
mod grip;
mod load_cases;
mod loads;
mod lockout;
mod pivots;

pub use balance::Balance;
pub use chain::{Chain, ChainPart, PartStrength, Swap};
pub use grip::CamGrip;
pub use loads::{
    CaseFactors, CaseLoads, HardestLoad, HardestLoads, Holder, LinkLoad, LoadSide, Loads, loads,
};
pub use lockout::{LockedArm, LockedSetting, Locking, Lockout, LockoutSide, lockout};
pub use pivots::{BoltSide, Bolts, Kits, PivotBolt, SlipLoad, Tightened, bolts};
