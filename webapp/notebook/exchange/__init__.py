"""Exchange with other players: what leaves as an archive, and what came from someone else."""
