//! What a phrase can mean. The names are the grammar files' class names.

macro_rules! classes {
    ($($name:ident = $text:literal),+ $(,)?) => {
        /// The meaning of a phrase.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        #[allow(missing_docs)]
        pub enum Class { $($name),+ }

        impl Class {
            /// Every class.
            pub const ALL: &'static [Self] = &[$(Self::$name),+];

            /// Its name in the grammar files.
            pub const fn as_str(self) -> &'static str {
                match self { $(Self::$name => $text),+ }
            }

            /// The class of this name.
            pub fn named(text: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|c| c.as_str() == text)
            }
        }
    };
}

classes! {
    // Amounts and times, used inside other phrases.
    Stops = "stops", Amount = "amount", Duration = "duration", Minutes = "minutes", MinutesSeconds = "minutes+seconds", MinuteAnd = "minute-and", Clicks = "clicks",
    // Shutter.
    ShutterFraction = "shutter-fraction", ShutterNumber = "shutter-number", ShutterList = "shutter-list",
    ShutterTo = "shutter-to", Time = "time", TimeFraction = "time-fraction", HalfInList = "half-in-list", Gave = "gave", TimeParts = "time-parts", MovedTo = "moved-to", HoldB = "hold-b", HoldT = "hold-t",
    Bulb = "bulb", TimeT = "time-t", CountOf = "count-of",
    // Aperture.
    Aperture = "aperture", ApertureHalf = "aperture-half", ApertureBetween = "aperture-between",
    ApertureWidest = "aperture-widest", ApertureSmallest = "aperture-smallest", ApertureTo = "aperture-to",
    ApertureList = "aperture-list",
    // Changes.
    Open = "open", Close = "close", Slower = "slower", Faster = "faster", Less = "less", More = "more",
    ToMatch = "to-match", ToMatchAperture = "to-match-aperture", From = "from",
    // Brackets and compensation.
    Bracket = "bracket", BracketCount = "bracket-count", BracketByAperture = "bracket-by-aperture", BracketByShutter = "bracket-by-shutter", BracketAround = "bracket-around", EitherSide = "either-side",
    Step = "step", Over = "over", Under = "under", Extra = "extra", Comp = "comp", OnExposure = "on-exposure",
    NoBracket = "no-bracket", OneMoreUnder = "one-more-under", OneMoreOver = "one-more-over",
    // Lens and filter.
    Focal = "focal", FocalZoom = "focal-zoom", LensAt = "lens-at", Lens = "lens", LensThe = "lens-the",
    SameLens = "same-lens", FilterOn = "filter-on", FilterOff = "filter-off", FilterSwap = "filter-swap",
    FilterNone = "filter-none", FilterStill = "filter-still", FilterCost = "filter-cost",
    FilterCostAny = "filter-cost-any",
    // Film and roll.
    Film = "film", FilmAt = "film-at", Ei = "ei", EiBox = "ei-box", Push = "push", PushTo = "push-to",
    PushToEi = "push-to-ei", Pull = "pull", NPlus = "n-plus", NMinus = "n-minus", ProcessNormal = "process-normal",
    Roll = "roll", RollNew = "roll-new", RollEnd = "roll-end", RollNext = "roll-next", Camera = "camera", SameCamera = "same-camera",
    SameFilm = "same-film", SameRating = "same-rating", BothCameras = "both-cameras",
    // Frames.
    Frame = "frame", FrameWeak = "frame-weak", FrameNth = "frame-nth", FrameA = "frame-a", Frame00 = "frame-00",
    Frames = "frames", FrameLost = "frame-lost", FrameS = "frame-s", FrameThat = "frame-that", LastFrames = "last-frames", To = "to", And = "and", All = "all", Next = "next",
    NextWeak = "next-weak", ForNext = "for-next", ForNth = "for-nth", Again = "again", Then = "then", Nth = "nth", FirstOne = "first-one", OneOfThem = "one-of-them",
    Count = "count", CountSame = "count-same", FramesLeft = "frames-left", Same = "same", SameAgain = "same-again", SameRemark = "same-remark",
    SameAs = "same-as", SameShutter = "same-shutter", SameAperture = "same-aperture", Still = "still",
    // Corrections.
    Correct = "correct", CorrectNo = "correct-no", Scratch = "scratch", ForgetLast = "forget-last", IgnoreNote = "ignore-note",
    Not = "not", Claimed = "claimed", Yes = "yes", Or = "or", Either = "either", Idea = "idea",
    // Not done.
    Meter = "meter", Should = "should", Unreal = "unreal", Turn = "turn", TurnBack = "turn-back", TurnWeak = "turn-weak", Elsewhere = "elsewhere", Supposed = "supposed", Cancel = "cancel", DidIt = "did-it", Doubt = "doubt", DoubtBefore = "doubt-before",
    NoSettings = "no-settings",
    // What became of it, and where.
    Wasted = "wasted", WastedWeak = "wasted-weak", DoubleExposure = "double-exposure", Light = "light", NoLight = "no-light",
    Support = "support", SupportBraced = "support-braced", NoSupport = "no-support",
    ScansReversed = "scans-reversed", ScanRemark = "scan-remark", At = "at", PlaceAt = "place-at", PlaceSame = "place-same",
    Other = "other",
    // Made by the engine: a number that nothing else claims.
    Bare = "bare",
}
