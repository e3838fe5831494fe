using System.Reflection;
using System.Security.Cryptography;
using Contracts.Agreements;
using Contracts.Host.Serving.SignIn;
using Contracts.Host.Terminal;
using Contracts.Store;
using Microsoft.AspNetCore.Components;
using Microsoft.AspNetCore.Http.HttpResults;
using Npgsql;

namespace Contracts.Host.Serving.Pages;

/// <summary>A page: its address, who may open it, and whether each visit is written down before the answer.</summary>
public sealed record PageDoor(string Route, bool Recorded, IReadOnlyList<string> Roles);

/// <summary>Why there is no other page: a stable code, a sentence, the section where there is one, the status.</summary>
public sealed record NoPage(string Code, string Detail, string? Citation, int Status);

/// <summary>The pages of the host, rendered on the server; a browser needs no script to read them.</summary>
public static class PageHost
{
    private static readonly string[] Everybody = [.. Roles.All];

    /// <summary>Every page and who may open it.</summary>
    public static IReadOnlyList<PageDoor> All { get; } =
    [
        new("/", true, Everybody),
        new("/accounts", true, Everybody),
        new("/account/{contract}", true, Everybody),
        new("/account/{contract}/why/{*figure}", true, Everybody),
        new("/account/{contract}/compare", true, Everybody),
        new("/account/{contract}/statement", true, Everybody),
        new("/account/{contract}/replay", true, Everybody),
        new("/account/{contract}/do/{deed}", true, Doors.Commands.Roles),
        new("/account/{contract}/dispute", true, Doors.Proposals.Roles),
        new("/account/{contract}/what-if", true, Doors.Proposals.Roles),
        new("/account/{contract}/disclosures", true, Doors.Papers.Roles),
        new("/household/{household}", true, Doors.Household.Roles),
        new("/quote", false, Everybody),
        new("/sign", true, CommandDoors.For("sign")),
        new("/proposals", true, Doors.Proposals.Roles),
        new("/proposals/{proposal}", true, Doors.Proposals.Roles),
        new("/money-files", true, [Roles.Manager, Roles.Finance, Roles.Auditor]),
        new("/months", false, Doors.Packet.Roles),
        new("/months/{month}", false, Doors.Packet.Roles),
        new("/reports/{report}/why/{*figure}", true, Doors.ExplainReport.Roles),
        new("/unit/{*serial}", true, Everybody),
        new("/fleet", true, Doors.Fleet.Roles),
        new("/law", false, Everybody),
        new("/law/{code}", false, Everybody),
        new("/seals", false, Everybody),
        new("/checks", false, Doors.Check.Roles),
        new("/jobs", true, Doors.Job.Roles),
    ];

    public static void Add(IServiceCollection services) => services.AddRazorComponents();

    public static void Map(IEndpointRouteBuilder routes)
    {
        Asset(routes, "look.css", "text/css");
        Asset(routes, "keys.js", "text/javascript");
        Asset(routes, "icon.svg", "image/svg+xml");
        FindPages.Map(routes);
        AccountsPages.Map(routes);
        AccountPages.Map(routes);
        ReasonPages.Map(routes);
        StatementPages.Map(routes);
        HouseholdPages.Map(routes);
        DeedPages.Map(routes);
        OfferPages.Map(routes);
        ProposalPages.Map(routes);
        DisputePages.Map(routes);
        WhatIfPages.Map(routes);
        SheetPages.Map(routes);
        MoneyFilePages.Map(routes);
        MonthPages.Map(routes);
        FleetPages.Map(routes);
        LawPages.Map(routes);
        CheckPages.Map(routes);
        JobPages.Map(routes);
    }

    /// <summary>Maps a page behind its door.</summary>
    public static RouteHandlerBuilder MapPage(this IEndpointRouteBuilder routes, string route, Delegate handler)
    {
        var door = All.First(one => one.Route == route);
        var mapped = routes.MapGet(route, handler)
            .RequireAuthorization(policy => policy.RequireClaim(Roles.Claim, door.Roles)).WithMetadata(door).ExcludeFromDescription();
        if (door.Recorded) { mapped.AddEndpointFilter(RecordAsync); }
        return mapped;
    }

    /// <summary>Whether who looks may see which household a contract is of, and its papers; the API's doors to papers say the same.</summary>
    public static bool ShowsHouseholds(HttpContext context) => Doors.Papers.Roles.Contains(context.User.Role());

    /// <summary>A page of a component.</summary>
    public static RazorComponentResult Of<T>(HttpContext context, object model, int status = StatusCodes.Status200OK)
        where T : IComponent
    {
        context.Response.Headers.CacheControl = "no-store";
        return new RazorComponentResult(typeof(T), new { Model = model, Who = WhoOf(context) }) { StatusCode = status };
    }

    /// <summary>A page that says why there is nothing else.</summary>
    public static RazorComponentResult Refused(HttpContext context, Refusal refusal) =>
        Refused(context, new NoPage(refusal.Slug, Say.Why(refusal), refusal.Citation, Problem.Status(refusal.Code)));

    /// <summary>The same for what is not the rules' to refuse.</summary>
    public static RazorComponentResult Refused(HttpContext context, NoPage why) => Of<RefusedPage>(context, why, why.Status);

    private static string WhoOf(HttpContext context) =>
        context.User.Identity?.IsAuthenticated == true ? $"{context.User.Name()}, {context.User.Role()}" : "";

    /// <summary>Who looks at accounts, and why, is on the record before the page comes.</summary>
    internal static async ValueTask<object?> RecordAsync(EndpointFilterInvocationContext context, EndpointFilterDelegate next)
    {
        var http = context.HttpContext;
        try
        {
            await http.RequestServices.GetRequiredService<ContractsStore>().Readings.AddAsync(
                http.User.Name(), http.User.Role(), http.GetEndpoint()!.Metadata.GetRequiredMetadata<PageDoor>().Route,
                ReadRecorder.SubjectOf(http), http.User.Purpose() ?? ReadRecorder.PurposeOf(http.Request), http.RequestAborted);
        }
        catch (NpgsqlException)
        {
            return Results.Text("This visit could not be recorded, so nothing is shown. Try again.", "text/plain", null, StatusCodes.Status503ServiceUnavailable);
        }

        return await next(context);
    }

    private static void Asset(IEndpointRouteBuilder routes, string name, string type)
    {
        using var stream = Assembly.GetExecutingAssembly().GetManifestResourceStream($"look.{name}")
            ?? throw new InvalidOperationException($"The program was built without {name}.");
        using var memory = new MemoryStream();
        stream.CopyTo(memory);
        var bytes = memory.ToArray();
        var tag = $"\"{Convert.ToHexStringLower(SHA256.HashData(bytes))[..16]}\"";
        routes.MapGet($"/{name}", (HttpContext context) =>
        {
            context.Response.Headers.ETag = tag;
            context.Response.Headers.CacheControl = "public, max-age=3600";
            return context.Request.Headers.IfNoneMatch.ToString() == tag ? Results.StatusCode(StatusCodes.Status304NotModified) : Results.Bytes(bytes, type);
        }).AllowAnonymous().ExcludeFromDescription();
    }
}
