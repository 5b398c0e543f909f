"""What there is to cut: probing, order, scene folders, fingerprints."""
