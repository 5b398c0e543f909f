"""Moving and scaling a clip's picture in the viewer."""
