"""Supply: what every rail must carry in every state, whether source and regulators hold, how warm they get, how long a battery lasts."""
