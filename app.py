"""The dashboard's script: ``leakback dashboard`` runs it."""

from analytics.render.dashboard import main

main()
