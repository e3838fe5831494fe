using System.Diagnostics;
using Contracts.Agreements;
using Contracts.History;

namespace Contracts.WhatIf;

/// <summary>What becomes of a recorded fact that the change does not name.</summary>
public enum FactStanding
{
    /// <summary>Its command would have been refused at its moment. It was accepted, so it counts as before: later knowledge undoes nothing.</summary>
    WouldBeRefused,

    /// <summary>What it is about is not there any more, as a reversal of a payment that was never made: it is left out.</summary>
    FallsAway,

    /// <summary>It stays and has no effect.</summary>
    Overtaken,

    /// <summary>It had no effect, and has one now.</summary>
    TakesEffect,
}

/// <summary>A recorded fact that stands otherwise once the change is supposed.</summary>
/// <param name="Fact">The fact as it is recorded.</param>
/// <param name="Standing">What becomes of it.</param>
/// <param name="Refusal">Why its command would be refused, where it would.</param>
public sealed record QuestionedFact(Recorded Fact, FactStanding Standing, Refusal? Refusal)
{
    /// <summary>The word of a standing, as answers write it.</summary>
    public static string Word(FactStanding standing) => standing switch
    {
        FactStanding.WouldBeRefused => "would-be-refused",
        FactStanding.FallsAway => "falls-away",
        FactStanding.Overtaken => "overtaken",
        FactStanding.TakesEffect => "takes-effect",
        _ => throw new UnreachableException($"No word for {standing}."),
    };
}
