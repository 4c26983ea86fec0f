"""Instruments that speak in lines of text, over a serial line or a network: described by the person who owns them."""
