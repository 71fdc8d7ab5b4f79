"""Plan to page: text table, JSON, PDF and figures."""
