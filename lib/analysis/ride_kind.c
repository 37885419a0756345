#include "analysis/ride_kind.h"

/* Fewer coasts of one road among others elsewhere may well be chance. */
enum { TEST_LEAST = 3 };

struct cw_ride_kind cw_ride_kind_of(const struct cw_analysed *of) {
    struct cw_ride_kind ride = {0};
    size_t second = 0;
    for (size_t i = 0; i < of->runs.n; i++) {
        const struct cw_run *run = &of->runs.at[i];
        if (!run->kept) continue;
        ride.kept++;
        ride.on_road += run->road == CW_ROAD_MAIN;
        ride.back += run->road == CW_ROAD_MAIN && run->reversed;
        second += run->road == CW_ROAD_MAIN + 1;
    }
    ride.elsewhere = ride.kept - ride.on_road;
    ride.repeated = ride.back > 1 || ride.on_road - ride.back > 1;
    ride.tests = ride.repeated && (ride.on_road >= TEST_LEAST || !ride.elsewhere);
    ride.one_is_kept = ride.on_road >= TEST_LEAST && ride.on_road > second;
    return ride;
}
