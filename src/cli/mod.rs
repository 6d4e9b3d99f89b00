//! Command line: arguments, files, exit codes. The only part that prints.
