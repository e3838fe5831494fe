namespace Contracts.Store.Books;

/// <summary>A month's depreciation was posted. Stored for ever: add fields, never rename or remove.</summary>
/// <param name="Month">The month, as YYYY-MM.</param>
/// <param name="Charge">What was charged, with what later knowledge changed about months before.</param>
/// <param name="LeftWithUnits">Accumulated depreciation that left with units sold or lost.</param>
/// <param name="Units">How many units the fleet had.</param>
public sealed record DepreciationPosted(string Month, Money Charge, Money LeftWithUnits, int Units);

/// <summary>A month was closed, for good. Stored for ever: add fields, never rename or remove.</summary>
/// <param name="Month">The month, as YYYY-MM.</param>
/// <param name="ThroughSequence">The last event its packet counts.</param>
/// <param name="Digest">SHA-256 of the packet as JSON.</param>
/// <param name="Title">The packet's title.</param>
/// <param name="Chart">The chart of accounts as it was, also the program's own, which may change.</param>
/// <param name="Form">The form its packet is made in; none in a month that was closed before there was a second one.</param>
public sealed record PeriodClosed(string Month, long ThroughSequence, string Digest, string Title, string? Chart = null, int? Form = null);

/// <summary>A shop got a calendar. Stored for ever: add fields, never rename or remove.</summary>
/// <param name="Shop">The shop.</param>
/// <param name="FirstMonth">The month in which its books begin, as YYYY-MM.</param>
public sealed record CalendarSet(string Shop, string FirstMonth);

/// <summary>The books' own streams; no contract id has a colon.</summary>
internal static class BookStreams
{
    public const string Periods = "books:periods";

    public const string Calendars = "books:calendars";
}
