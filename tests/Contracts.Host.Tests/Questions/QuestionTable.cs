using Contracts.Tests.Support;

namespace Contracts.Host.Tests.Questions;

/// <summary>Where a question can be asked.</summary>
[Flags]
internal enum Surfaces
{
    Nowhere = 0,
    Page = 1,
    Command = 2,
    Api = 4,
    All = Page | Command | Api,
}

/// <summary>A row of docs/questions.md.</summary>
internal sealed record QuestionRow(string User, int Number, string Page, string Command, string Route)
{
    /// <summary>The surfaces that have an answer.</summary>
    public Surfaces Answered => (Has(Page) ? Surfaces.Page : 0) | (Has(Command) ? Surfaces.Command : 0) | (Has(Route) ? Surfaces.Api : 0);

    private static bool Has(string cell) => !cell.StartsWith("not yet", StringComparison.Ordinal);
}

/// <summary>The table of docs/questions.md.</summary>
internal static class QuestionTable
{
    public static IReadOnlyList<QuestionRow> Read() =>
    [
        .. File.ReadLines(Path.Combine(Golden.Root, "docs/questions.md")).Select(line => line.Split('|', StringSplitOptions.TrimEntries))
            .Where(cells => cells.Length == 7 && cells[1].Split(' ') is [_, var number] && int.TryParse(number, out var _))
            .Select(cells => new QuestionRow(
                cells[1].Split(' ')[0], int.Parse(cells[1].Split(' ')[1], System.Globalization.CultureInfo.InvariantCulture), cells[3], cells[4], cells[5])),
    ];
}
