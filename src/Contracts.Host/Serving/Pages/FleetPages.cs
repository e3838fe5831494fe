using Contracts.Agreements;
using Contracts.Fleet;
using Contracts.Host.Fleet;
using Contracts.Host.Serving.Api;
using Contracts.Store;
using NodaTime;

namespace Contracts.Host.Serving.Pages;

/// <summary>One unit as its page shows it.</summary>
public sealed record UnitModel(UnitLife Life, Instant Known, bool IsNow, string KnownText);

/// <summary>The fleet over a span of days, and what is due back on its last day.</summary>
public sealed record FleetModel(FleetReport Report, IReadOnlyList<DueBack> Due);

/// <summary>The pages about units: one of them for everybody, the fleet for who sees the whole portfolio.</summary>
internal static class FleetPages
{
    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapPage("/unit/{*serial}", UnitAsync);
        routes.MapPage("/fleet", FleetAsync);
    }

    /// <summary>The page of a unit; a serial number may have any sign in it.</summary>
    public static string PlaceOf(string serial) => $"/unit/{Uri.EscapeDataString(serial)}";

    private static async Task<IResult> UnitAsync(HttpContext context, ContractsStore store, string serial, string? on, string? known, CancellationToken stop)
    {
        var (question, refusal) = await FleetEndpoints.ReadAsync(store, on, known, stop);
        if (refusal is not null) { return PageHost.Refused(context, refusal); }
        serial = FleetEndpoints.Decoded(serial);
        return await store.Units.FindAsync(serial, question.On, question.Known.At, stop) is { } life
            ? PageHost.Of<UnitPage>(context, new UnitModel(life, question.Known.At, string.IsNullOrEmpty(on) && string.IsNullOrEmpty(known), known ?? ""))
            : PageHost.Refused(context, WhereCommand.Unknown(serial));
    }

    private static async Task<IResult> FleetAsync(HttpContext context, ContractsStore store, string? from, string? through, CancellationToken stop)
    {
        var (question, refusal) = await FleetEndpoints.ReadAsync(store, through, null, stop, "through");
        if (refusal is not null) { return PageHost.Refused(context, refusal); }
        LocalDate? day = string.IsNullOrEmpty(from) ? FleetCommand.YearBefore(question.On) : Terminal.CommonOptions.ParseDay(from);
        if (day is not { } first || first > question.On)
        {
            return PageHost.Refused(context, new Refusal(RefusalCode.DateInvalid, "The first day is a day such as 2026-01-01, and not after the last one.", "from"));
        }

        var report = await store.Units.ReportAsync(first, question.On, question.Known.At, stop);
        return PageHost.Of<FleetPage>(context, new FleetModel(report, await store.Units.DueBackAsync(question.On, question.Known.At, stop)));
    }
}
