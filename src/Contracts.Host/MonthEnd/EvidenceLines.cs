using Contracts.Books.Packet;

namespace Contracts.Host.MonthEnd;

/// <summary>
/// The commands behind a report's rows, said briefly: commands that differ only by what stands in one column of their row are one
/// command with that column's id in angle brackets.
/// </summary>
internal static class EvidenceLines
{
    /// <summary>The lines to print under the report; none if no row has evidence.</summary>
    public static IReadOnlyList<string> Of(Report report)
    {
        var rows = report.Rows.Where(row => row.Evidence is not null).ToList();
        var shared = Enumerable.Range(0, report.Columns.Length)
            .SelectMany(at => rows.GroupBy(row => Pattern(row, report.Columns[at].Id, at)).Where(group => group.Key is not null))
            .MaxBy(group => group.Count());
        if (shared is null || shared.Count() < 2) { return [.. rows.Select(Single)]; }
        var covered = shared.ToHashSet(ReferenceEqualityComparer.Instance);
        return [shared.Key!, .. rows.Where(row => !covered.Contains(row)).Select(Single)];
    }

    private static string? Pattern(Row row, string id, int at)
    {
        var said = row.Cells[at].Plain;
        var words = row.Evidence!.Split(' ');
        return said.Length > 0 && words.Contains(said, StringComparer.Ordinal)
            ? string.Join(' ', words.Select(word => word == said ? $"<{id}>" : word)) : null;
    }

    private static string Single(Row row) => row.Cells.FirstOrDefault(cell => cell is not Cell.Empty) is { } name
        ? $"{PacketWords.Show(name)}: {row.Evidence}" : row.Evidence!;
}
