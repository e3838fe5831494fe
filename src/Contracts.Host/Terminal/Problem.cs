using System.Text;
using System.Text.Json;
using Contracts.Agreements;

namespace Contracts.Host.Terminal;

/// <summary>A refusal as an RFC 9457 problem, the same on the command line and over HTTP.</summary>
public static class Problem
{
    /// <summary>What a code's type begins with away from any host.</summary>
    private const string Anywhere = "urn:contracts:refusal:";

    /// <summary>The problem as text.</summary>
    /// <param name="refusal">The refusal.</param>
    /// <param name="place">What the type begins with: where a host explains its codes.</param>
    public static string Json(Refusal refusal, string place = Anywhere)
    {
        using var buffer = new MemoryStream();
        using (var json = new Utf8JsonWriter(buffer)) { Write(json, refusal, place); }
        return Encoding.UTF8.GetString(buffer.ToArray());
    }

    private static void Write(Utf8JsonWriter json, Refusal refusal, string place)
    {
        json.WriteStartObject();
        json.WriteString("type", $"{place}{refusal.Slug}");
        json.WriteString("title", refusal.Slug.Replace('-', ' '));
        json.WriteNumber("status", Status(refusal.Code));
        json.WriteString("detail", refusal.Detail);
        json.WriteString("code", refusal.Slug);
        json.WriteNumber("number", (int)refusal.Code);
        Optional(json, "field", refusal.Field);
        Optional(json, "rightFigure", refusal.RightFigure);
        Optional(json, "citation", refusal.Citation);
        json.WriteEndObject();
    }

    /// <summary>400 cannot be read, 404 not there, 409 another state stands in the way, 422 a rule forbids it.</summary>
    public static int Status(RefusalCode code) => code switch
    {
        RefusalCode.ContractUnknown or RefusalCode.MonthNotClosed or RefusalCode.QuoteUnknown or RefusalCode.PaperUnknown or RefusalCode.HouseholdUnknown
            or RefusalCode.CheckpointUnknown or RefusalCode.ProposalUnknown or RefusalCode.UnitUnknown or RefusalCode.EntryUnknown
            or RefusalCode.HouseholdWithoutContract => 404,
        RefusalCode.SecondPersonNeeded => 403,
        RefusalCode.ContractMoved => 412,
        RefusalCode.ChartInvalid or RefusalCode.LawPackInvalid or RefusalCode.MoneyFileUnreadable or RefusalCode.MoneyMappingInvalid
            or RefusalCode.BookUnreadable or RefusalCode.BookMappingInvalid => 400,
        RefusalCode.ContractAlreadySigned or RefusalCode.InstrumentOnOpenContract or RefusalCode.LaterEvent
            or RefusalCode.StatusForbids or RefusalCode.AtGoesBack or RefusalCode.MonthAlreadyClosed or RefusalCode.MonthGap or RefusalCode.CloseCheckFailed
            or RefusalCode.CalendarInUse or RefusalCode.QuoteAlreadyGiven or RefusalCode.LawPackNotNew
            or RefusalCode.PaperNotDue or RefusalCode.PaperNotMade or RefusalCode.PaperDiffers
            or RefusalCode.HouseholdErased or RefusalCode.HouseholdInUse or RefusalCode.HouseholdRetained
            or RefusalCode.ProposalAlreadyMade or RefusalCode.ProposalSettled or RefusalCode.EntrySettled or RefusalCode.BookAlreadyTakenOver
            or RefusalCode.UnitAlreadyAcquired or RefusalCode.UnitNotInspected or RefusalCode.UnitStatusForbids or RefusalCode.UnitLaterEvent => 409,
        _ => (int)code < 20 ? 400 : 422,
    };

    private static void Optional(Utf8JsonWriter json, string name, string? value)
    {
        if (value is not null) { json.WriteString(name, value); }
    }
}
