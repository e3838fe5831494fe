using Contracts.Agreements;
using Contracts.Host.Serving.Api;
using Contracts.Store;
using Contracts.Store.Callers;
using Npgsql;

namespace Contracts.Host.Serving.SignIn;

/// <summary>Writes down who reads what and why, before the answer; what cannot be written down is not answered.</summary>
public sealed partial class ReadRecorder(Door door) : IEndpointFilter
{
    /// <summary>The header that says why.</summary>
    public const string PurposeHeader = "X-Purpose";

    /// <summary>Why somebody reads, as they said with the request, else when they signed in.</summary>
    public static string PurposeOf(HttpRequest request) => request.Headers[PurposeHeader].ToString() is { Length: > 0 } header
        ? header
        : request.Query["purpose"].ToString() is { Length: > 0 } query ? query : request.HttpContext.User.Purpose() ?? Purposes.NotSaid;

    /// <remarks>
    /// What only reads is read while it is written down who asked, since both wait: no part of the answer leaves before the line is on the disk. What does
    /// more than read begins after it.
    /// </remarks>
    public async ValueTask<object?> InvokeAsync(EndpointFilterInvocationContext context, EndpointFilterDelegate next)
    {
        var http = context.HttpContext;
        var recording = RecordAsync(http, door, SubjectOf(http));
        if (recording.IsCompleted || !HttpMethods.IsGet(door.Method)) { return await recording ?? await next(context); }
        var reading = next(context).AsTask();
        IResult? unrecorded;
        try
        {
            unrecorded = await recording;
        }
        finally
        {
            // Whatever became of the line, nothing goes on with this request behind its back.
            await ((Task)reading).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
        }

        if (unrecorded is null) { return await reading; }
        // Of the answer that nobody gets, its tag and links are left out too.
        http.Response.Clear();
        return unrecorded;
    }

    /// <summary>What a route is about: a contract, all contracts of a household, or null where it is about many.</summary>
    internal static string? SubjectOf(HttpContext http) => http.GetRouteValue("contract") as string
        ?? (http.GetRouteValue("household") is string household ? ReadLog.OfFamily(household) : null);

    /// <summary>Writes a read down; what stands in the way of the answer, or null.</summary>
    /// <param name="http">The request.</param>
    /// <param name="door">The route.</param>
    /// <param name="contract">The contract it is about, or null when it is about more than one.</param>
    internal static async Task<IResult?> RecordAsync(HttpContext http, Door door, string? contract)
    {
        var purpose = PurposeOf(http.Request);
        if (!Purposes.IsFit(purpose))
        {
            return Answers.Refused(new Refusal(RefusalCode.FieldInvalid, $"A purpose has 1 to {Purposes.Longest} characters.", "purpose"));
        }

        var store = http.RequestServices.GetRequiredService<ContractsStore>();
        try
        {
            await store.Readings.AddAsync(
                http.User.Name(), http.User.Role(), door.Route, contract, purpose, http.RequestAborted);
        }
        catch (NpgsqlException fault)
        {
            LogUnrecorded(http.RequestServices.GetRequiredService<ILogger<ReadRecorder>>(), door, fault);
            return ApiProblems.ReadNotRecorded.Result();
        }

        return null;
    }

    [LoggerMessage(Level = LogLevel.Error, Message = "{Door} was not answered, because it could not be recorded")]
    private static partial void LogUnrecorded(ILogger log, Door door, Exception fault);
}
