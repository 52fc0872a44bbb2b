//! What kinds of walls gave over several jobs: the average, the next job, the spread between jobs, and what was left out.
