//! The command line: arguments, what is shown, exit statuses. Results go to standard output, talk to standard error.

pub(crate) mod arguments;
pub(crate) mod exit_status;
pub(crate) mod progress;
pub(crate) mod recut;
pub(crate) mod render;
pub(crate) mod sources;
