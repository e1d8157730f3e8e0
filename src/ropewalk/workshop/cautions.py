"""The cautions that go with every list, sheet, drawing and page."""

CAUTIONS = (
    "This is an estimate to plan a cut. It does not prove that a brake works.",
    "The makers' instructions for frame, brakes, shifters and housing override it.",
    "Cut long, try on the bike, then trim. Finish with the inner: trim and cap it last.",
    "Before release a competent mechanic turns the bars lock to lock, pulls each brake hard standing still, "
    "and rides slowly to test.",
    "Which lever works which brake is a matter of local law and of the rider's habit: check both.",
    "Drilling or filing a frame can destroy it and ends its warranty: ask its maker first.",
)

#: said whenever brakes change hands
HANDS_CAUTION = (
    "Law and custom say which hand works the front brake: a bicycle on sale in the UK has its right lever on the front "
    "brake; in the US 16 CFR 1512.5 wants the left lever on the front brake unless the customer asks otherwise. Both "
    "were read in summaries: check your local law, and tell the rider before the first ride."
)

#: said before the others wherever holes in a frame are planned
PORT_CAUTIONS = (
    "Drilling can destroy a frame, weeks later and without warning, and it ends the warranty: ask the frame's maker "
    "first, and do not drill where the maker says no or nothing.",
    "Never drill or file a composite frame or fork: its fibres carry the load, and a cut one cannot be mended.",
    "Limits here are rules of thumb for round metal tubes with straight walls. They prove no frame strong.",
    "Deburr and round every edge inside and out, keep water off the bare metal, and fit a grommet.",
    "A frame that is sold or hired out falls under local law and its safety standard as its maker tested it: a drilled "
    "one may have to be tested anew.",
)

#: said before the others wherever a line is read with its wire unhooked
FAULT_CAUTIONS = (
    "A brake with its wire off does not work: tag the bike, and test the brake again after the wire is back.",
    "This points to where to look. It does not prove that anything else is sound: look at wire, housing and ends.",
    "Keep face and hands clear of the scales: a wire end that slips under load whips.",
)
