//! What people and programs read: text, JSON, HTML.
