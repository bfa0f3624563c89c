"""What the maker asks for: the brief, one TOML file."""
