//! Reports: one file per output. They see findings and the ledger, and compute nothing.
