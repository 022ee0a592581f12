//! Reading figures by key, keeping which were read.

use guidance::{Country, Curve, Guidance, Unknown};

/// Answers keys at the middle of their spreads and remembers them.
pub(crate) struct Ask<'a> {
    pub(crate) guidance: &'a Guidance,
    pub(crate) country: Country,
    pub(crate) keys: Vec<String>,
}

impl Ask<'_> {
    /// A number, in the unit of its row.
    pub(crate) fn number(&mut self, key: &str) -> Result<f32, Unknown> {
        let v = self.guidance.number(key, self.country)? as f32;
        self.keys.push(key.to_string());
        Ok(v)
    }

    /// A number given in percent, as a fraction.
    pub(crate) fn percent(&mut self, key: &str) -> Result<f32, Unknown> {
        Ok(self.number(key)? / 100.0)
    }

    /// A curve.
    pub(crate) fn curve(&mut self, key: &str) -> Result<Curve, Unknown> {
        let c = self.guidance.curve(key, self.country)?;
        self.keys.push(key.to_string());
        Ok(c)
    }
}
