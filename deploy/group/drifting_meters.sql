-- Which meters walk off: a straight line through the deviations of their plate, as found, since the last adjustment
-- or change of plate, with the t of its slope. $folder: where the sites' files lie. Six checks at least; listed where
-- |t| is above 3, the fastest first. (A line without any scatter has no t: it counts as a very large one.)
WITH every AS (
  SELECT * FROM read_parquet($folder || '/checks/*/*/*.parquet', hive_partitioning = true,
                             hive_types_autocast = false, union_by_name = true, filename = true)
),
newest AS (SELECT site, month, max(filename) AS filename FROM every GROUP BY site, month),
checks AS (SELECT * FROM every SEMI JOIN newest USING (site, month, filename)),
stretches AS (
  SELECT *, count(*) FILTER (adjusted) OVER (PARTITION BY site, meter ORDER BY made_at, check_id
    ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING) AS stretch,
    max(made_at) OVER (PARTITION BY site, meter) AS last_at
  FROM checks
),
lines AS (
  SELECT site, meter, plate, stretch, count(*) AS n, any_value(tolerance) AS tolerance,
    regr_slope(found, epoch(made_at) / 86400) AS per_day, corr(found, epoch(made_at) / 86400) AS r,
    last(found ORDER BY made_at) AS newest, max(made_at) = any_value(last_at) AS present
  FROM stretches GROUP BY site, meter, plate, stretch
)
SELECT site, meter, plate, n AS checks, per_day * 30 AS per_month, newest, tolerance,
  r * sqrt((n - 2) / greatest(1 - r * r, 1e-12)) AS t
FROM lines WHERE present AND n >= 6 AND abs(r * sqrt((n - 2) / greatest(1 - r * r, 1e-12))) > 3
ORDER BY abs(per_day) / tolerance DESC
