//! Snapshots as JSON documents: reading, writing, schema.
