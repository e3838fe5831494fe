namespace Contracts.Store.Seals;

/// <summary>A place where the seals and what they seal do not agree.</summary>
/// <param name="Kind">A word for it, as reports write it.</param>
/// <param name="Stream">The stream of the event, or the table of the seals.</param>
/// <param name="Version">The version in the stream; of a table of the seals the index, size or number of the row.</param>
/// <param name="Field">The member of the entry or the column that differs; `row` where a whole row is missing or too many.</param>
/// <param name="Detail">A sentence.</param>
public sealed record SealFinding(string Kind, string Stream, long? Version, string Field, string Detail);

/// <summary>What a check of the seals went through and found.</summary>
public sealed class SealAuditReport
{
    public SortedDictionary<string, long> Checked { get; } = new(StringComparer.Ordinal);

    public List<SealFinding> Findings { get; } = [];

    internal void Count(string what, long count = 1) => Checked[what] = Checked.GetValueOrDefault(what) + count;

    internal void Add(string kind, string stream, long? version, string field, string detail) =>
        Findings.Add(new SealFinding(kind, stream, version, field, detail));
}
