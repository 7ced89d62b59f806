//! Every exit status, in one place.

use std::process::ExitCode;

/// How the program ends. There is no other status.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum ExitStatus {
    /// Done.
    Done,
    /// A file or an option is wrong.
    Wrong,
    /// The files are right, but stock and limits allow no plan, or none was found.
    NoPlan,
    /// The output could not be written.
    Unwritten,
    /// Stopped by the user before any plan was found, or twice.
    Stopped,
}

impl ExitStatus {
    /// The number.
    pub(crate) fn number(self) -> u8 {
        match self {
            Self::Done => 0,
            Self::Wrong => 2,
            Self::NoPlan => 3,
            Self::Unwritten => 4,
            Self::Stopped => 130,
        }
    }
}

impl From<ExitStatus> for ExitCode {
    fn from(status: ExitStatus) -> Self {
        Self::from(status.number())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn statuses_are_those_that_scripts_rely_on() {
        let all = [
            ExitStatus::Done,
            ExitStatus::Wrong,
            ExitStatus::NoPlan,
            ExitStatus::Unwritten,
            ExitStatus::Stopped,
        ];
        assert_eq!(all.map(ExitStatus::number), [0, 2, 3, 4, 130]);
    }
}
