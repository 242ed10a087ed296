"""The records: what was played, by whom, and what is known of it, kept across days."""
