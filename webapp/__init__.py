"""The shell round `analysis`: rows, clips, services, pages, drawings, chart and command line."""
