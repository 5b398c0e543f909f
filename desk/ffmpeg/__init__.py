"""The one place that starts ffmpeg."""
