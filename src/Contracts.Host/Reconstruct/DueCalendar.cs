using System.Globalization;
using System.Text;
using Contracts.Disclosures;
using Contracts.Fleet;
using Contracts.History;
using NodaTime;

namespace Contracts.Host.Reconstruct;

/// <summary>
/// The due dates that remain as a calendar (RFC 5545): whole days, amounts in the summary, nobody's name. An installment keeps its UID, so a
/// calendar that reads the file again moves an entry instead of adding one.
/// </summary>
public static class DueCalendar
{
    /// <summary>The media type.</summary>
    public const string MediaType = "text/calendar";

    private const int LongestLine = 75;

    /// <summary>The calendar's bytes.</summary>
    /// <param name="state">The account.</param>
    /// <param name="known">As known when.</param>
    /// <param name="origin">The name of the store's log, which keeps UIDs of two shops apart.</param>
    public static byte[] Of(AccountState state, Instant known, string origin)
    {
        var contract = state.History.Contract;
        var store = origin[(origin.IndexOf('/', StringComparison.Ordinal) + 1)..];
        var text = new StringBuilder();
        Line(text, "BEGIN:VCALENDAR");
        Line(text, "VERSION:2.0");
        Line(text, "PRODID:-//Contracts//Due dates//EN");
        Line(text, "METHOD:PUBLISH");
        var dates = DueDates.Of(state);
        foreach (var due in dates) { Entry("VEVENT", due.Slot.ToString(CultureInfo.InvariantCulture), due.On, $"Instrument rental {contract}: {due.Amount} due"); }

        // A unit keeps its UID by the swap that made it due back.
        var back = DueBack.Of(state).Where(one => !one.IsCharged).ToList();
        foreach (var unit in back) { Entry("VEVENT", $"back-{unit.Sequence}", unit.ReturnBy, $"Instrument rental {contract}: {Escaped(unit.Serial)} due back"); }

        // A calendar has something in it; a journal's line is no day in anybody's week.
        if (dates.IsEmpty && back.Count == 0) { Entry("VJOURNAL", "none", state.On, $"Instrument rental {contract}: no due date is fixed"); }
        Line(text, "END:VCALENDAR");
        return Encoding.UTF8.GetBytes(text.ToString());

        void Entry(string kind, string slot, LocalDate on, string summary)
        {
            Line(text, $"BEGIN:{kind}");
            Line(text, $"UID:{contract}-{slot}@{store}.contracts.invalid");
            Line(text, $"DTSTAMP:{known.ToString("uuuuMMdd'T'HHmmss'Z'", CultureInfo.InvariantCulture)}");
            Line(text, $"SEQUENCE:{state.History.Entries.Length}");
            Line(text, $"DTSTART;VALUE=DATE:{on.ToString("uuuuMMdd", CultureInfo.InvariantCulture)}");
            Line(text, $"SUMMARY:{summary}");
            if (kind == "VEVENT") { Line(text, "TRANSP:TRANSPARENT"); }
            Line(text, $"END:{kind}");
        }
    }

    /// <summary>A serial number may have signs that end a text in a calendar (RFC 5545, 3.3.11).</summary>
    private static string Escaped(string text) => text.Replace("\\", "\\\\", StringComparison.Ordinal).Replace(";", "\\;", StringComparison.Ordinal)
        .Replace(",", "\\,", StringComparison.Ordinal);

    /// <summary>A line, folded where it has more than 75 octets; a sign is never cut.</summary>
    private static void Line(StringBuilder text, string line)
    {
        var octets = 0;
        foreach (var sign in line.EnumerateRunes())
        {
            if (octets + sign.Utf8SequenceLength > LongestLine)
            {
                text.Append("\r\n ");
                octets = 1;
            }

            text.Append(sign);
            octets += sign.Utf8SequenceLength;
        }

        text.Append("\r\n");
    }
}
