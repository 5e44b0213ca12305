//! Questions asked of many cars, drawn from the errors of the measured one.

mod drawn;
mod sampled;

pub use sampled::{
    Interval, Sampled, SampledArm, SampledSide, Sampling, sample_cams, sample_lower, sample_plan,
};
