using Contracts.Agreements;

namespace Contracts.Host.Counter;

/// <summary>A line that was not applied, and why.</summary>
public sealed record RefusedLine(string File, long Line, Refusal Refusal);

/// <summary>What a load did. Every line is counted once.</summary>
public sealed class LoadSummary
{
    public int Applied { get; internal set; }

    public int Already { get; internal set; }

    public List<RefusedLine> Refused { get; } = [];
}
