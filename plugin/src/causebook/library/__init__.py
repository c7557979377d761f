"""Many cases together: the shelf that works them up once, indexes, cause pages, facet table, like cases."""
