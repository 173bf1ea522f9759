#!/usr/bin/env bash
# The same work by one process and by an array job of a scheduler, one task of it killed half-way and run again: the
# same bytes. Needs root, a built program (npm run build) and Debian's slurm-wlm and munge; everything listens on the
# loopback and lives in one temporary folder. Prints a table; status 1 when a byte differs.
set -euo pipefail
cd "$(dirname "$0")/../.."
jobs=${1:-48}
tasks=4
here=$(pwd)
t=$(mktemp -d /tmp/handback-scale.XXXXXX)
chmod 755 "$t"
pids=()
finish() {
  for p in "${pids[@]}"; do kill "$p" 2>/dev/null || true; done
  wait 2>/dev/null || true
  rm -rf "$t"
}
trap finish EXIT

for tool in munged slurmctld slurmd sbatch; do
  command -v "$tool" >/dev/null || { echo "$tool is absent: apt-get install slurm-wlm munge"; exit 2; }
done
[ -f dist/src/program/main.js ] || { echo "not built: npm run build"; exit 2; }
export XDG_CONFIG_HOME=$t/settings
handback="node $here/dist/src/program/main.js"
until_true() { # seconds, then a command
  local end=$((SECONDS + $1)); shift
  until "$@" >/dev/null 2>&1; do [ $SECONDS -lt $end ] || { echo "waited in vain: $*"; return 1; }; sleep 0.2; done
}

# a scheduler of our own
head -c 1024 /dev/urandom >"$t/munge.key"; chmod 400 "$t/munge.key"
mkdir -p "$t/state" "$t/spool" "$t/run"; chmod 755 "$t/run"
munged --force --foreground --key-file="$t/munge.key" --socket="$t/run/munge" --pid-file="$t/run/munged.pid" \
  --log-file="$t/munged.log" --seed-file="$t/munge.seed" & pids+=($!)
host=$(hostname -s)
cat >"$t/slurm.conf" <<CONF
ClusterName=loopback
SlurmctldHost=$host(127.0.0.1)
SlurmctldPort=16817
SlurmdPort=16818
AuthType=auth/munge
AuthInfo=socket=$t/run/munge
CryptoType=crypto/munge
SlurmUser=root
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
MpiDefault=none
SelectType=select/cons_tres
SelectTypeParameters=CR_CPU
ReturnToService=2
StateSaveLocation=$t/state
SlurmdSpoolDir=$t/spool
SlurmctldPidFile=$t/run/slurmctld.pid
SlurmdPidFile=$t/run/slurmd.pid
SlurmctldLogFile=$t/slurmctld.log
SlurmdLogFile=$t/slurmd.log
NodeName=$host NodeAddr=127.0.0.1 CPUs=2 State=UNKNOWN
PartitionName=all Nodes=ALL Default=YES MaxTime=INFINITE State=UP
CONF
export SLURM_CONF=$t/slurm.conf
until_true 60 test -S "$t/run/munge"
slurmctld -D -f "$t/slurm.conf" >"$t/ctld.out" 2>&1 & pids+=($!)
slurmd -D -f "$t/slurm.conf" >"$t/slurmd.out" 2>&1 & pids+=($!)
node_up() { sinfo -h -o %t | grep -qE '^(idle|mix|alloc)$'; }
until_true 120 node_up || { tail -5 "$t"/*.log "$t"/*.out; exit 1; }

# by one process
npx tsx tests/scale/library.ts "$t/library" "$jobs"
began=$SECONDS
$handback pool add "$t/pool-one" --library "$t/library" --practice --yes --quiet
$handback judge "$t/library" --out "$t/judged-one" --quiet
one=$((SECONDS - began))

# by an array job; the second task alone at first, to be killed
cat >"$t/task.sh" <<TASK
#!/usr/bin/env bash
export XDG_CONFIG_HOME=$t/settings
echo \$\$ >"$t/run/task-\$SLURM_ARRAY_TASK_ID.pid"
exec bash -c '$handback judge "$t/library" --out "$t/judged-many" --share \$SLURM_ARRAY_TASK_ID/$tasks --quiet && \
  $handback pool add "$t/pool-many" --library "$t/library" --practice --yes --quiet --share \$SLURM_ARRAY_TASK_ID/$tasks'
TASK
began=$SECONDS
id=$(sbatch --parsable --hold --requeue --array=1-$tasks -n1 -o "$t/task-%a.log" "$t/task.sh")
scontrol release "${id}_2"
some() { [ "$(ls "$t/judged-many" 2>/dev/null | grep -c json$)" -ge 2 ]; }
until_true 300 some
task=$(cat "$t/run/task-2.pid")
kill -9 $(pgrep -P "$task") "$task" 2>/dev/null || kill -9 "$task"
failed() { scontrol show job "${id}_2" | grep -qE 'JobState=(FAILED|CANCELLED|NODE_FAIL)'; }
until_true 120 failed
half=$(ls "$t/judged-many" | grep -c json$)
scontrol requeue "${id}_2"
scontrol release "$id" || true
none_left() { [ -z "$(squeue -h -j "$id" 2>/dev/null)" ]; }
until_true 1200 none_left
many=$((SECONDS - began))

files() { (cd "$1" && find . -type f | sort | xargs sha256sum); }
count() { find "$1" -type f | wc -l; }
status=0
echo "| | one process | array job of $tasks tasks, one killed and run again |"
echo "|---|---|---|"
for kind in judged pool; do
  if diff <(files "$t/$kind-one") <(files "$t/$kind-many") >"$t/$kind.diff"; then same="the same bytes"; else same="NOT THE SAME"; status=1; fi
  echo "| $kind: files | $(count "$t/$kind-one") | $(count "$t/$kind-many"): $same |"
done
total=$(count "$t/judged-one")
echo "| seconds | $one | $many |"
echo "| judged when the task was killed | | $half of $total in all |"
[ "$half" -lt "$total" ] || { echo "it was not killed half-way"; status=1; }
[ $status = 0 ] || { head "$t"/*.diff; tail -3 "$t"/task-*.log; }
exit $status
