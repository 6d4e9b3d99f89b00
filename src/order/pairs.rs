//! A set of unordered pairs of small numbers.

/// Which pairs of `0..len` are marked: one bit each.
#[derive(Clone, Debug)]
pub struct Pairs {
    len: usize,
    bits: Vec<u64>,
}

impl Pairs {
    pub fn new(len: usize) -> Self {
        Self { len, bits: vec![0; (len * len).div_ceil(64)] }
    }

    pub fn mark(&mut self, a: usize, b: usize) {
        let (word, bit) = self.place(a, b);
        self.bits[word] |= bit;
    }

    pub fn has(&self, a: usize, b: usize) -> bool {
        let (word, bit) = self.place(a, b);
        self.bits[word] & bit != 0
    }

    fn place(&self, a: usize, b: usize) -> (usize, u64) {
        let at = a.min(b) * self.len + a.max(b);
        (at / 64, 1 << (at % 64))
    }
}
