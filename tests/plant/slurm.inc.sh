# shellcheck shell=sh disable=SC2154
# Slurm from Debian on this computer alone, in a temporary folder: a key and a daemon that prove who
# somebody is, a controller, a node of two processors.  To be read by a script that has set `work`.
#   start_slurm      returns 77 where it isn't installed, 1 where it doesn't run
#   stop_slurm       ends what was started

slurm_port=$((20000 + $$ % 20000))

write_slurm_conf() {
  node=$(hostname -s)
  mkdir -p "$work/state" "$work/spool"
  cat >"$work/slurm.conf" <<CONF
ClusterName=bench
SlurmctldHost=$node(127.0.0.1)
SlurmctldPort=$slurm_port
SlurmdPort=$((slurm_port + 1))
SlurmUser=$(id -un)
SlurmdUser=$(id -un)
AuthType=auth/munge
AuthInfo=socket=$work/munge.socket,cred_expire=5
CryptoType=crypto/munge
StateSaveLocation=$work/state
SlurmdSpoolDir=$work/spool
SlurmctldPidFile=$work/slurmctld.pid
SlurmdPidFile=$work/slurmd.pid
SlurmctldLogFile=$work/slurmctld.log
SlurmdLogFile=$work/slurmd.log
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
JobAcctGatherType=jobacct_gather/none
AccountingStorageType=accounting_storage/none
MpiDefault=none
SwitchType=switch/none
SelectType=select/cons_tres
SelectTypeParameters=CR_CPU
SchedulerType=sched/builtin
SchedulerParameters=sched_interval=1,batch_sched_delay=0,sched_min_interval=0
SlurmdParameters=config_overrides
ReturnToService=2
KillWait=1
MinJobAge=300
NodeName=$node NodeAddr=127.0.0.1 CPUs=2 State=UNKNOWN
PartitionName=all Nodes=$node Default=YES State=UP MaxTime=INFINITE
CONF
  echo CgroupAutomount=no >"$work/cgroup.conf"
}

start_munge() {
  dd if=/dev/urandom of="$work/munge.key" bs=128 count=1 status=none
  chmod 400 "$work/munge.key"
  munged --force --key-file="$work/munge.key" --socket="$work/munge.socket" \
    --pid-file="$work/munge.pid" --log-file="$work/munge.log" --seed-file="$work/munge.seed" \
    2>"$work/munge.err"
}

wait_for_node() {
  for _ in $(seq 100); do
    [ "$(sinfo -h -o %T 2>/dev/null)" = idle ] && return 0
    sleep 0.1
  done
  return 1
}

start_slurm() {
  PATH=$PATH:/usr/sbin:/sbin
  for needed in munged slurmctld slurmd sbatch squeue scontrol; do
    command -v $needed >/dev/null || { echo "SKIP: no $needed here" && return 77; }
  done
  write_slurm_conf
  export SLURM_CONF="$work/slurm.conf"
  start_munge && slurmctld -i && slurmd && wait_for_node
}

stop_slurm() {
  for name in slurmd slurmctld munge; do
    [ -s "$work/$name.pid" ] && kill "$(cat "$work/$name.pid")" 2>/dev/null
  done
  # Slurm's own files go last.
  for _ in $(seq 50); do
    [ -e "$work/slurmd.pid" ] || [ -e "$work/slurmctld.pid" ] || break
    sleep 0.1
  done
}
