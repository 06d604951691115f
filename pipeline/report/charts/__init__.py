"""Each figure described once for Plotly, and drawn as static SVG."""
