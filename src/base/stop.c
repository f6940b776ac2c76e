#include "base/stop.h"

#include <pthread.h>
#include <signal.h>
#include <stdatomic.h>
#include <stddef.h>

static const int SIGNALS[] = { SIGINT, SIGTERM, SIGHUP };

static atomic_bool is_asked; /* lock-free: a signal handler may store it */

static void
on_signal(int number)
{
    (void) number;
    atomic_store(&is_asked, true);
}

void
stop_catch_signals(void)
{
    struct sigaction action = { .sa_handler = on_signal, .sa_flags = (int) SA_RESETHAND };
    sigemptyset(&action.sa_mask);
    for (size_t i = 0; i < sizeof SIGNALS / sizeof *SIGNALS; i++)
        sigaction(SIGNALS[i], &action, NULL);
    signal(SIGPIPE, SIG_IGN);
}

bool
stop_is_asked(void)
{
    return atomic_load(&is_asked);
}

bool
stop_block_signals(bool is_blocked)
{
    sigset_t set, was;
    sigemptyset(&set);
    for (size_t i = 0; i < sizeof SIGNALS / sizeof *SIGNALS; i++)
        sigaddset(&set, SIGNALS[i]);
    pthread_sigmask(is_blocked ? SIG_BLOCK : SIG_UNBLOCK, &set, &was);
    return sigismember(&was, SIGNALS[0]) == 1;
}
