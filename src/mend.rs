//! The one library call: bytes in, mended bytes and an account out.
