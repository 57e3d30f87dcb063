"""The read path of a shop page: answers put together from pieces that were encoded before."""
