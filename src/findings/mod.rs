//! Verdicts in order, counted in a ledger, with a stable fingerprint.
