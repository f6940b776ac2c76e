/* simulate.c - writes the simulated recordings with their truth as files.
 *
 *     simulate FOLDER        KIND.csv and KIND_truth.csv of every kind in aid/simulated_run.h, and how each is measured
 */
#include "aid/simulated_run.h"

#include <stdio.h>

int
main(int argc, char **argv)
{
    const struct simulated_run *run;
    char words[1024];
    if (argc != 2) {
        fprintf(stderr, "simulate: give one folder that is there\n");
        return 2;
    }
    for (int k = 0; (run = simulated_run_at(k)) != NULL; k++) {
        if (!simulated_run_write(run, argv[1])) {
            fprintf(stderr, "simulate: can't write %s into %s: is it there, is there room?\n", run->name, argv[1]);
            return 1;
        }
        simulated_run_words(run, argv[1], words, sizeof words);
        printf("underfoot steps %s\n", words);
    }
    return 0;
}
