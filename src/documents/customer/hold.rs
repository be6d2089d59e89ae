//! How a load is tied down, in words for who does it.

use super::Voice;
use crate::domain::strength::restraint::HeldLoad;

/// What to do with a load; as it was frozen in revisions that know no other language.
pub fn how_to_hold(held: &HeldLoad, voice: &Voice) -> String {
    let Some(hold) = &held.hold else { return held.do_this.clone() };
    let say = |id: &str| voice.say(id);
    let straps = hold.straps as usize;
    let mut told = vec![match (straps, hold.over_top, hold.slopes_deg) {
        (0, ..) => say("hold-none").text(),
        (_, true, slopes) => {
            let flattest = slopes.map_or(90.0, |[low, _]| low);
            say("hold-over-top").count("straps", straps).with("angle", voice.angle(flattest)).text()
        }
        (_, false, slopes) => {
            let angle = match slopes {
                None => say("hold-no-point"),
                Some([low, high]) if high - low < 3.0 => say("hold-angle").with("angle", voice.angle(high)),
                Some([low, high]) => say("hold-angles").with("least", voice.angle(low)).with("most", voice.angle(high)),
            };
            say("hold-direct").count("straps", straps).with("angle", angle).text()
        }
    }];
    told.extend(
        hold.rating_kg.filter(|_| straps > 0).map(|kg| say("hold-rating").with("mass", voice.mass(kg).main).text()),
    );
    let more = [(hold.chocks, "hold-chocks"), (hold.brake, "hold-brake"), (hold.front, "hold-front")];
    told.extend(more.into_iter().filter(|(asked, _)| *asked).map(|(_, id)| say(id).text()));
    told.join(" ")
}
