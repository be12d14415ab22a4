-- Which share of each site's batches was in band, month by month, with the Wilson interval at 95 %
-- (Wilson 1927; the same that a bench prints on its month page). $folder: where the sites' files lie.
WITH every AS (
  SELECT site, month, batch_id, batch_verdict, blend, filename
  FROM read_parquet($folder || '/batches/*/*/*.parquet', hive_partitioning = true, hive_types_autocast = false,
                    union_by_name = true, filename = true)
),
-- Of a site and a month the newest file counts: it holds the month as it stands now.
newest AS (SELECT site, month, max(filename) AS filename FROM every GROUP BY site, month),
batches AS (
  SELECT DISTINCT site, month, batch_id, batch_verdict FROM every SEMI JOIN newest USING (site, month, filename)
  WHERE NOT blend AND batch_verdict IN ('inside', 'undecided', 'outside')
),
counted AS (
  SELECT site, month, count(*) AS n, count(*) FILTER (batch_verdict = 'inside') AS inside,
    count(*) FILTER (batch_verdict = 'outside') AS outside
  FROM batches GROUP BY site, month
)
SELECT site, month, n AS judged, inside, outside, inside / n AS share,
  (inside + z * z / 2 - z * sqrt(inside * (n - inside) / n + z * z / 4)) / (n + z * z) AS lower,
  (inside + z * z / 2 + z * sqrt(inside * (n - inside) / n + z * z / 4)) / (n + z * z) AS upper
FROM counted, (SELECT 1.959963984540054 AS z) ORDER BY site, month
