# Part of plant.sh: fills the tables by COPY, then asks as people do.  What is told is the whole program, and
# each statement as the server logs it; plans of all that took longer than 5 ms stay in $PLANS.

rows=${1:-10000000}
plans=${PLANS:-/tmp/whetsight-plans}

# Rows are made here, with their chains: the guards and indexes that keep others from writing so come after.
ask -c "ALTER ROLE plant SET search_path = whetsight, pg_temp" -c "ALTER ROLE plant SET synchronous_commit = off"
ask -c "CREATE TABLE public.later AS SELECT indexdef FROM pg_indexes WHERE schemaname = 'whetsight' AND indexname IN
  ('inspection_id', 'inspection_tool', 'inspection_time', 'inspection_newest', 'inspection_image', 'inspection_about')"
for index in id tool time newest image about; do ask -c "DROP INDEX IF EXISTS inspection_$index"; done
"$benchmark" rows month "$rows" | while read -r month; do echo "SELECT begin_month ($month);"; done | ask >"$work/months"
started=$(date +%s)
fill() {
  "$benchmark" rows "$1" "$rows" | ask -c "SET session_replication_role = replica" -c "COPY $1 ($2) FROM STDIN"
}
ask -c "SET session_replication_role = replica" -c "INSERT INTO head SELECT 'bench ' || i, 'plant', 0, '', '' FROM
  generate_series (1, 40) AS i"
fill inspection "number, bench, place, id, time, tool, kind, view, verdict, image_name, station, grinder, reground,
  pictures, previous, hash" &
inspections=$!
fill record "number, month, record" &
records=$!
fill quantity "number, month, name, value, u, lower, upper, verdict"
wait "$inspections"
wait "$records"
ask -c "SELECT indexdef FROM public.later" | while read -r make; do ask -c "$make"; done
ask -c "UPDATE head SET (count, hash) = (SELECT place, hash FROM inspection i WHERE i.bench = head.bench
    ORDER BY place DESC LIMIT 1)" \
  -c "UPDATE head SET digest = digest_of (count, hash)" \
  -c "SELECT setval ('stored', $rows)" -c "DROP TABLE public.later" >"$work/set"
ask -c "VACUUM ANALYZE" 2>/dev/null
echo "$rows inspections filled in $(($(date +%s) - started)) s; the database has $(
  ask -c "SELECT pg_size_pretty (pg_database_size (current_database ()))")"

# From here on every statement is logged with its time.
ask -c "LOAD 'auto_explain'" -c "ALTER SYSTEM SET log_min_duration_statement = 0" -c "ALTER SYSTEM SET session_preload_libraries = auto_explain" \
  -c "ALTER SYSTEM SET auto_explain.log_min_duration = 5" -c "ALTER SYSTEM SET auto_explain.log_analyze = on" \
  -c "ALTER SYSTEM SET auto_explain.log_timing = off" -c "SELECT pg_reload_conf ()" >"$work/set"
sleep 1

# asked WHAT CALL…: five times, of which the quickest counts; other work on the computer only adds.
asked() {
  name=$1
  shift
  : >"$work/rounds"
  for round in 1 2 3 4 5; do
    before=$(wc -c <"$work/log")
    begun=$(date +%s%N)
    "$program" "$@" >"$work/out" 2>"$work/err" || true
    ended=$(date +%s%N)
    tail -c "+$((before + 1))" "$work/log" >"$work/statements"
    awk -v whole="$(((ended - begun) / 1000))" -v lines="$(wc -l <"$work/out")" '
      /duration: .* ms/ { match($0, /duration: [0-9.]+/); ms = substr($0, RSTART + 10, RLENGTH - 10) + 0
                          all += ms; n++; if (ms > most) most = ms }
      END { print whole / 1000, all, n, most, lines }' "$work/statements" >>"$work/rounds"
  done
  sort -n "$work/rounds" | head -n 1 | awk -v name="$name" '{
    printf "%-26s %8.1f ms whole program, %7.1f ms in %d statements, longest %.1f ms; %d lines\n", name, $1, $2, $3, $4, $5 }'
  { printf '==== %s, round %s\n' "$name" "$round"; cat "$work/statements" "$work/err"; } >>"$plans"
}

: >"$plans"
asked 'list by tool' archive list "$address" --tool QT-D-00042
asked 'list by tool, last 20' archive list "$address" --tool QT-D-00042 --last 20
asked 'newest 20 of all' archive list "$address" --last 20
asked 'quantity above, few' archive list "$address" --quantity point_angle_deg --above 120.087
asked 'quantity above, last 20' archive list "$address" --quantity point_angle_deg --above 119.9 --last 20
asked 'trend of a tool' trend --archive "$address" --tool QT-D-00042 --quantity point_angle_deg
asked 'show' archive show "$address" id-000000004242
echo "plans: $plans"
