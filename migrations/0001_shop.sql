-- The first schema stands here as soon as the store's floor is laid.
SELECT 1;
