"""Pure functions of numbers and arrays, SI inside, keyword-only; one topic a file."""
