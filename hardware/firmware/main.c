#include "firmware/mcu.h"
#include "firmware/station.h"

static struct station station; /* the one thing that lives for ever: static, so that the linker counts it */

int
main(void)
{
    mcu_start();
    station_init(&station);
    for (;;)
        if (!station_turn(&station))
            mcu_rest();
}
