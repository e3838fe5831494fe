using System.Globalization;
using Contracts.Books.Packet;

namespace Contracts.Host.MonthEnd;

/// <summary>Names for the sheets of a workbook: the reports' titles, within what a spreadsheet takes, no two alike.</summary>
internal static class SheetNames
{
    /// <summary>The sheet that says what the others are.</summary>
    public const string Index = "Packet";

    private const int Longest = 31;
    private const string Forbidden = "[]:*?/\\'";

    /// <summary>One name for each report, in order.</summary>
    public static IReadOnlyList<string> Of(Packet packet)
    {
        var taken = new HashSet<string>(StringComparer.OrdinalIgnoreCase) { Index, "History" };
        return [.. packet.Reports.Select(report => Free(report.Title, taken))];
    }

    private static string Free(string title, HashSet<string> taken)
    {
        var words = title.Split([' ', .. Forbidden], StringSplitOptions.RemoveEmptyEntries);
        var clean = string.Join(' ', words);
        if (clean.Length == 0) { clean = "Report"; }
        var name = Cut(clean, "");
        for (var number = 2; !taken.Add(name); number++) { name = Cut(clean, string.Create(CultureInfo.InvariantCulture, $" {number}")); }
        return name;
    }

    private static string Cut(string name, string end) =>
        (name.Length + end.Length <= Longest ? name : name[..(Longest - end.Length)].TrimEnd()) + end;
}
