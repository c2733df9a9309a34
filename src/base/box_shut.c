// SPDX-License-Identifier: MIT
// The inside of the box, a library of its own: nobody else needs what it is built with.
#include "base/box.h"

#include <errno.h>
#include <fcntl.h>
#include <sched.h>
#include <seccomp.h>
#include <signal.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/syscall.h>
#include <unistd.h>

// What reading, computing and answering never need. Refused with "not permitted", which libraries bear.
static const int refused[] = {
    // The network, and other processes.
    SCMP_SYS(socket),

    SCMP_SYS(connect),
    SCMP_SYS(bind),
    SCMP_SYS(listen),
    SCMP_SYS(accept),
    SCMP_SYS(accept4),
    SCMP_SYS(sendto),
    SCMP_SYS(sendmsg),
    SCMP_SYS(sendmmsg),
    SCMP_SYS(io_uring_setup),
    SCMP_SYS(execve),
    SCMP_SYS(execveat),
    SCMP_SYS(fork),
    SCMP_SYS(vfork),
    SCMP_SYS(kill),
    SCMP_SYS(tkill),
    SCMP_SYS(ptrace),
    SCMP_SYS(process_vm_readv),
    SCMP_SYS(process_vm_writev),
    SCMP_SYS(pidfd_open),
    SCMP_SYS(pidfd_getfd),
    SCMP_SYS(pidfd_send_signal),
    SCMP_SYS(setrlimit),
    // Names and contents of files.
    SCMP_SYS(creat),
    SCMP_SYS(unlink),
    SCMP_SYS(unlinkat),
    SCMP_SYS(rename),
    SCMP_SYS(renameat),
    SCMP_SYS(renameat2),
    SCMP_SYS(mkdir),
    SCMP_SYS(mkdirat),
    SCMP_SYS(rmdir),
    SCMP_SYS(link),
    SCMP_SYS(linkat),
    SCMP_SYS(symlink),
    SCMP_SYS(symlinkat),
    SCMP_SYS(truncate),
    SCMP_SYS(chmod),
    SCMP_SYS(fchmod),
    SCMP_SYS(fchmodat),
    SCMP_SYS(chown),
    SCMP_SYS(fchown),
    SCMP_SYS(lchown),
    SCMP_SYS(fchownat),
    SCMP_SYS(mknod),
    SCMP_SYS(mknodat),
    SCMP_SYS(setxattr),
    SCMP_SYS(lsetxattr),
    SCMP_SYS(fsetxattr),
    SCMP_SYS(utimensat),
    SCMP_SYS(openat2),
    // The system.
    SCMP_SYS(mount),
    SCMP_SYS(umount2),
    SCMP_SYS(pivot_root),
    SCMP_SYS(chroot),
    SCMP_SYS(unshare),
    SCMP_SYS(setns),
    SCMP_SYS(bpf),
    SCMP_SYS(perf_event_open),
    SCMP_SYS(userfaultfd),
    SCMP_SYS(keyctl),
    SCMP_SYS(add_key),
    SCMP_SYS(request_key),
    SCMP_SYS(init_module),
    SCMP_SYS(finit_module),
    SCMP_SYS(kexec_load),
    SCMP_SYS(reboot),
    SCMP_SYS(shmget),
    SCMP_SYS(msgget),
    SCMP_SYS(semget),
    SCMP_SYS(setuid),
    SCMP_SYS(setgid),
    SCMP_SYS(setresuid),
    SCMP_SYS(setresgid),
    SCMP_SYS(personality),
};

void dw_box_leave_network(void)
{
    // A user of one's own gives the right to leave; where the system grants neither, the calls are refused later.
    if (unshare(CLONE_NEWUSER | CLONE_NEWNET) != 0)
        (void)unshare(CLONE_NEWNET);
}

static bool limit(int what, size_t most)
{
    struct rlimit now;
    if (getrlimit(what, &now) != 0)
        return false;
    if (now.rlim_max == RLIM_INFINITY || now.rlim_max > most)
        now.rlim_max = most;
    now.rlim_cur = now.rlim_max;
    return setrlimit(what, &now) == 0;
}

static bool limit_all(const DwBoxLimits *limits)
{
    signal(SIGXFSZ, SIG_IGN);
#if defined __SANITIZE_ADDRESS__ || defined __SANITIZE_THREAD__
    bool memory = true; // a sanitizer maps more than any machine has
#else
    bool memory = limit(RLIMIT_AS, limits->memory_most);
#endif
    return memory && limit(RLIMIT_CPU, limits->seconds_most) && limit(RLIMIT_NOFILE, limits->files_most) &&
           limit(RLIMIT_FSIZE, 0) && limit(RLIMIT_CORE, 0);
}

// Opening to write, or a file that is not there.
static int refuse_writing(scmp_filter_ctx filter, int call, unsigned flags_at)
{
    static const unsigned flags[] = {O_WRONLY, O_RDWR, O_CREAT, O_TRUNC};
    int error = 0;
    for (size_t i = 0; i < sizeof flags / sizeof *flags && !error; i++)
        error = seccomp_rule_add(filter, SCMP_ACT_ERRNO(EACCES), call, 1,
                                 SCMP_CMP(flags_at, SCMP_CMP_MASKED_EQ, flags[i], flags[i]));
    return error;
}

static int shut_calls(void)
{
    scmp_filter_ctx filter = seccomp_init(SCMP_ACT_ALLOW);
    if (!filter)
        return -ENOMEM;
    int error = 0;
    for (size_t i = 0; i < sizeof refused / sizeof *refused && !error; i++)
        error = seccomp_rule_add(filter, SCMP_ACT_ERRNO(EPERM), refused[i], 0);
    if (!error)
        error = refuse_writing(filter, SCMP_SYS(open), 1);
    if (!error)
        error = refuse_writing(filter, SCMP_SYS(openat), 2);
    // Limits may be asked for, but not set.
    if (!error)
        error = seccomp_rule_add(filter, SCMP_ACT_ERRNO(EPERM), SCMP_SYS(prlimit64), 1, SCMP_A2(SCMP_CMP_NE, 0));
    if (!error)
        error = seccomp_load(filter);
    seccomp_release(filter);
    return error;
}

DwStatus dw_box_shut(const DwBoxLimits *limits, DwMessage *message)
{
    if (prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) != 0 || !limit_all(limits))
        return dw_fail(message, DW_FAILED, "the decoder could not be limited (%s)", strerror(errno));
    int error = shut_calls();
    return error ? dw_fail(message, DW_FAILED, "the decoder could not be shut in (%s)", strerror(-error)) : DW_OK;
}

bool dw_box_write(const void *bytes, size_t count)
{
    const char *at = bytes;
    while (count) {
        ssize_t done = write(STDOUT_FILENO, at, count);
        if (done < 0 && errno == EINTR)
            continue;
        if (done <= 0)
            return false;
        at += done;
        count -= (size_t)done;
    }
    return true;
}
