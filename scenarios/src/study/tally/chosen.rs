//! Flights chosen as if by chance, no more than so many, before it is known how many there will be (MODEL.md § 27).

use crate::study::sampling::mixed;

/// Which of the flights that have come by are held.
#[derive(Clone, Debug)]
pub(super) struct Chosen {
    most: usize,
    /// Zero bits at the end of the hash of every flight that is held.
    zeros: Vec<u8>,
    least_zeros: u8,
}

impl Chosen {
    pub fn new(most: usize) -> Self {
        Chosen {
            most,
            zeros: Vec::new(),
            least_zeros: 0,
        }
    }

    /// Whether the next flight is to be held.
    pub fn takes(&mut self, flight: u64) -> bool {
        let zeros = mixed(flight).trailing_zeros() as u8;
        let takes = zeros >= self.least_zeros;
        if takes {
            self.zeros.push(zeros);
        }
        takes
    }

    /// Where too many are held: which of them stay, those with one zero bit more. To be asked until it is nothing.
    pub fn thinned(&mut self) -> Option<Vec<bool>> {
        if self.zeros.len() <= self.most {
            return None;
        }
        self.least_zeros += 1;
        let stays: Vec<bool> = self.zeros.iter().map(|&z| z >= self.least_zeros).collect();
        self.zeros.retain(|&z| z >= self.least_zeros);
        Some(stays)
    }
}
