"""The job kept in one file: a GeoPackage. SQL lives only here."""
