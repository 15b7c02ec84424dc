"""Hand-over reports, workbooks and proof packs as files: asked for, made in the background, told of, handed out."""
