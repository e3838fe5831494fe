using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.Explain;

namespace Contracts.WhatIf;

/// <summary>A command of the search that the rules refuse.</summary>
/// <param name="Command">The command.</param>
/// <param name="Refusal">Why.</param>
public sealed record RefusedStep(Command.OnContract Command, Refusal Refusal);

/// <summary>
/// The smallest list of commands that brings the real account to the figures it would have, on the day of the decision; found by deciding each
/// list of a closed set as the engine would. Where none does, the list that comes nearest, and what it leaves.
/// </summary>
/// <param name="Commands">The commands in their order, with keys that follow from the account, the change and the place in the list.</param>
/// <param name="Reaches">Whether every figure, count and word of the account is then as it would be.</param>
/// <param name="Left">The figures that stay otherwise: before, as corrected; after, as it would be.</param>
/// <param name="LeftWords">The words and days that stay otherwise.</param>
/// <param name="Refused">What else was tried and is refused: why the rest cannot be reached.</param>
public sealed record Corrections(
    ImmutableArray<Command.OnContract> Commands, bool Reaches, ImmutableArray<SupposedFigure> Left, ImmutableArray<WordDifference> LeftWords,
    ImmutableArray<RefusedStep> Refused)
{
    /// <summary>Looks for the corrections of a change that was supposed.</summary>
    /// <param name="answer">The answer; its question must be of everything that is known now.</param>
    /// <param name="by">Who would give the commands, or null to leave that open.</param>
    /// <param name="reason">Why; the change in trade words when left out.</param>
    public static Corrections Of(WhatIfAnswer answer, string? by = null, string? reason = null) => new CorrectionSearch(answer, by, reason).Find();
}
