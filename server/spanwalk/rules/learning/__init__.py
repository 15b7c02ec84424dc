"""What the firm learns from sites that are closed: `site_numbers` of one site, `pooling` over many, `priors` for another."""
