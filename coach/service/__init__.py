"""The service: the asyncio shell around the rooms."""
