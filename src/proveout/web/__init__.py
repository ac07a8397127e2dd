"""The workbench page: server-rendered pages over the case desk. It holds no rule of the trade."""
