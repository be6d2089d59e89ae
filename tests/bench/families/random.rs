//! Random numbers that are the same on every machine.

/// SplitMix64: Steele, Lea and Flood, "Fast splittable pseudorandom number generators", 2014 (constants from memory).
#[derive(Clone, Debug)]
pub struct Random(u64);

impl Random {
    /// A generator of its own for each family and seed.
    pub fn of(family: &str, seed: u64) -> Self {
        // FNV-1a mixes the name in, so that equal seeds of two families have nothing in common.
        let name = family
            .bytes()
            .fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3));
        let mut random = Self(name ^ seed.wrapping_mul(0x9e37_79b9_7f4a_7c15));
        random.next();
        random
    }

    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A whole number, both ends included. The highest bits of a product: no bias that a benchmark could see.
    pub fn int(&mut self, from: i64, to: i64) -> i64 {
        let span = (to - from + 1) as u128;
        from + ((u128::from(self.next()) * span) >> 64) as i64
    }

    /// From 0 to below 1.
    pub fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub fn pick<'a, T>(&mut self, of: &'a [T]) -> &'a T {
        &of[self.int(0, of.len() as i64 - 1) as usize]
    }
}
