"""Who sprays what and in which order: an immutable problem, solvers behind one protocol."""
