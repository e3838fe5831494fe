using System.ComponentModel;
using Contracts.Agreements;
using Contracts.Host.Fleet;
using Contracts.Host.Serving.SignIn;
using Contracts.Store;

namespace Contracts.Host.Serving.Api;

/// <summary>Units: where one is and what it earned, the fleet over a span of days, and what is due back.</summary>
internal static class FleetEndpoints
{
    private static readonly Refusal NoCheckpoint = new(RefusalCode.DateInvalid, "Units are known at an instant or a day.", "known");

    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapDoor(Doors.Unit, UnitAsync);
        routes.MapDoor(Doors.Fleet, FleetAsync).WithRequestTimeout(ApiHost.Many);
        routes.MapDoor(Doors.DueBack, DueBackAsync).WithRequestTimeout(ApiHost.Many);
    }

    /// <summary>The two dates of a question about units, read as for accounts.</summary>
    internal static async Task<(Question Question, Refusal? Refusal)> ReadAsync(ContractsStore store, string? on, string? known, CancellationToken stop, string field = "on")
    {
        var (question, refusal) = await Question.ReadAsync(store, on, known, stop, field);
        return (question, refusal ?? (question.Known.Size is null ? null : NoCheckpoint));
    }

    /// <summary>In the rest of a path a slash stays as it was sent.</summary>
    internal static string Decoded(string serial) => serial.Replace("%2F", "/", StringComparison.OrdinalIgnoreCase);

    private static async Task<IResult> UnitAsync(
        ContractsStore store, [Description("The serial number, such as HC-0417.")] string serial, [Description(Words.On)] string? on,
        [Description(Words.KnownMoment)] string? known, CancellationToken stop)
    {
        var (question, refusal) = await ReadAsync(store, on, known, stop);
        if (refusal is not null) { return Answers.Refused(refusal); }
        serial = Decoded(serial);
        return await store.Units.FindAsync(serial, question.On, question.Known.At, stop) is { } life
            ? Answers.Json(UnitPrinter.Json(life, question.Known.At))
            : Answers.Refused(WhereCommand.Unknown(serial));
    }

    private static async Task<IResult> FleetAsync(
        ContractsStore store, [Description("The first day; a year before the last one when left out.")] string? from,
        [Description("The last day, such as 2026-12-31; today when left out.")] string? through, [Description(Words.KnownMoment)] string? known, CancellationToken stop)
    {
        var (question, refusal) = await ReadAsync(store, through, known, stop, "through");
        if (refusal is not null) { return Answers.Refused(refusal); }
        var first = FleetCommand.YearBefore(question.On);
        if (from is { Length: > 0 })
        {
            if (Terminal.CommonOptions.ParseDay(from) is not { } day)
            {
                return Answers.Refused(new Refusal(RefusalCode.DateInvalid, "'from' must be a day such as 2026-01-01.", "from"));
            }

            first = day;
        }

        return first > question.On
            ? Answers.Refused(new Refusal(RefusalCode.DateInvalid, "'from' is after 'through'.", "from"))
            : Answers.Json(FleetPrinter.Json(await store.Units.ReportAsync(first, question.On, question.Known.At, stop), question.Known.At));
    }

    private static async Task<IResult> DueBackAsync(
        ContractsStore store, [Description(Words.On)] string? on, [Description(Words.KnownMoment)] string? known,
        [Description("true for those alone for which a reminder is due on the day.")] string? remind, CancellationToken stop)
    {
        var (question, refusal) = await ReadAsync(store, on, known, stop);
        if (refusal is not null) { return Answers.Refused(refusal); }
        var due = await store.Units.DueBackAsync(question.On, question.Known.At, stop);
        return Answers.Json(FleetPrinter.Json([.. due.Where(one => remind != "true" || one.NeedsReminder)]));
    }
}
