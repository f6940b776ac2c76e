/* profile.c - a sensor profile as anyone may write it, then the sensor by it: its hello, one packet of each kind. */
#include "fuzz.h"
#include "sense/sense.h"

static void
feed(struct sense *s, struct packet *p, enum packet_type type, int n)
{
    static struct frame f;
    p->type = type;
    p->t_us += 4000;
    p->n_values = n;
    sense_feed(s, p, &f);
}

int
LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static struct sense_profile profile;
    static struct sense sense;
    static struct packet p;
    char path[FUZZ_PATH_MAX];
    struct message why = { 0 };
    fuzz_file(path, "profile.ini", data, size);
    const enum err e = profile_load(&profile, path, &why);
    fuzz_must(e == ERR_OK || !message_is_none(&why), "a profile is refused without a word");
    if (e != ERR_OK)
        return 0;
    sense_init(&sense, &profile);
    memset(&p, 0, sizeof p);
    for (int i = 0; i < PACKET_MAX_ELEMENTS; i++)
        p.mat_counts[i] = (uint16_t) (i * 37);
    for (int i = 0; i < PACKET_MAX_CELLS; i++)
        p.channel_counts[i] = i % 2 ? INT32_MAX : INT32_MIN;
    p.n_rows = profile.n_rows;
    p.n_cols = profile.n_cols;
    feed(&sense, &p, PACKET_MAT, profile.n_rows * profile.n_cols);
    feed(&sense, &p, PACKET_CELLS, profile.n_cells);
    feed(&sense, &p, PACKET_SWITCHES, profile.n_zones);
    return 0;
}
