"""What a running server tells those who keep it: log lines, security events, figures. It knows neither Flask nor tables."""
