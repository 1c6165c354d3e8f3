"""What several commands share: options, output, wording."""
