"""The local web app: routes translate, services decide; nothing it shows comes from elsewhere."""
