"""The job: one bike in, one plan out."""
