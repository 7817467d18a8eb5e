"""Makes the Brackwater 225 sample: `python -m sample_data.generate [FOLDER]`."""
