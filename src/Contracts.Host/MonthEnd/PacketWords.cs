using System.Globalization;
using Contracts.Books.Packet;

namespace Contracts.Host.MonthEnd;

/// <summary>What the forms for people say in the same words: the terminal and the workbook.</summary>
internal static class PacketWords
{
    /// <summary>What no reader may overlook; every form for people ends with it.</summary>
    public const string Caution = "Rent-to-own disclosure rules vary by state. Not legal, tax or accounting advice; ask local counsel.";

    /// <summary>How a check came out. The bad word is the loud one.</summary>
    public static string Result(Check check) => check.Passed ? "passed" : "FAILED";

    /// <summary>All checks in one line.</summary>
    public static string Verdict(Packet packet)
    {
        var failed = packet.Checks.Count(check => !check.Passed);
        return (packet.Checks.Length, failed) switch
        {
            (0, _) => "No checks were made.",
            (var all, 0) => all == 1 ? "The one check passed." : $"All {all} checks passed.",
            (var all, _) => $"{failed} of {all} checks FAILED; do not rely on the figures before it is known why.",
        };
    }

    /// <summary>A cell for reading: thousands are set apart, a minus stands in front, text is kept to what can be shown.</summary>
    public static string Show(Cell cell) => cell switch
    {
        Cell.Count count => count.Value.ToString("N0", CultureInfo.InvariantCulture),
        Cell.Amount amount => Show(amount.Value),
        _ => Visible(cell.Plain),
    };

    /// <summary>An amount for reading, such as -1,234.50.</summary>
    public static string Show(Money amount) => (amount.Cents / 100m).ToString("N2", CultureInfo.InvariantCulture);

    /// <summary>Text without the characters that would steer a terminal or break a line.</summary>
    public static string Visible(string text) => text.Any(char.IsControl)
        ? string.Concat(text.Select(c => char.IsControl(c) ? ' ' : c)) : text;
}
