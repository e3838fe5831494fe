using System.Globalization;
using System.Text.Json;
using Contracts.Host.Reconstruct;

namespace Contracts.Host.Serving.Api;

/// <summary>Something that stands against a request and is no refusal of the rules: the door, the limits, the machinery.</summary>
/// <param name="Code">Public, stable and never reused, like the codes of refusals.</param>
/// <param name="Status">The HTTP status.</param>
/// <param name="Says">What it means, and what to do.</param>
public sealed record ApiProblem(string Code, int Status, string Says)
{
    /// <summary>As an answer.</summary>
    public IResult Result() => With(Says);

    /// <summary>As an answer with words for this case, and further members.</summary>
    public IResult With(string detail, Action<Utf8JsonWriter>? more = null) => Results.Text(Json(detail, more), Answers.ProblemType, null, Status);

    /// <summary>Writes it where there is no endpoint to answer.</summary>
    public Task WriteAsync(HttpContext context, Action<Utf8JsonWriter>? more = null) => With(Says, more).ExecuteAsync(context);

    private string Json(string detail, Action<Utf8JsonWriter>? more) => AccountPrinter.Json(json =>
    {
        json.WriteStartObject();
        json.WriteString("type", Answers.ProblemPlace + Code);
        json.WriteString("title", Code.Replace('-', ' '));
        json.WriteNumber("status", Status);
        json.WriteString("detail", detail);
        json.WriteString("code", Code);
        more?.Invoke(json);
        json.WriteEndObject();
    }) + "\n";
}

/// <summary>Every such problem; docs/api.md has the same list.</summary>
public static class ApiProblems
{
    public static readonly ApiProblem RequestUnreadable = new("request-unreadable", 400, "The request is not HTTP that can be read.");
    public static readonly ApiProblem KeyDiffers = new("key-differs", 400, "The header Idempotency-Key and the command's own key are not the same.");
    public static readonly ApiProblem VersionInvalid = new(
        "version-invalid", 400, "If-Match takes the ETag of the account that the command is on, and only such a command takes it.");
    public static readonly ApiProblem FormTokenMissing = new(
        "form-token-missing", 400, "What a person sends must come from a page of this host that is still theirs: its form has a token, and X-CSRF carries it under /v1.");
    public static readonly ApiProblem KeyMissing = new(
        "key-missing", 401, "This needs an API key: Authorization: Bearer KEY. `contracts key new` makes one.");
    public static readonly ApiProblem KeyUnknown = new("key-unknown", 401, "No such API key was made here.");
    public static readonly ApiProblem KeyExpired = new("key-expired", 401, "The time of this API key has passed. `contracts key new` makes another.");
    public static readonly ApiProblem KeyRevoked = new("key-revoked", 401, "This API key was taken back.");
    public static readonly ApiProblem RoleForbids = new("role-forbids", 403, "The role of this key may not do that; the roles that may are named.");
    public static readonly ApiProblem RouteUnknown = new("route-unknown", 404, "There is nothing here. /openapi/v1.json lists what there is.");
    public static readonly ApiProblem NothingSigned = new(
        "nothing-signed", 404, "Nothing is sealed and signed yet. `contracts seal` does it, and so does a running host that has its signer's key.");
    public static readonly ApiProblem MethodNotAllowed = new(
        "method-not-allowed", 405, "This does not take that method; Allow names those it takes.");
    public static readonly ApiProblem PacketDiffers = new(
        "packet-differs", 409, "Made again, this is not the packet of the close: what is stored, or how a packet is made, has changed. Run `contracts check`.");
    public static readonly ApiProblem BodyTooLong = new("body-too-long", 413, "A body has at most 262144 bytes.");
    public static readonly ApiProblem MediaTypeWrong = new("media-type-wrong", 415, "The body must be JSON: Content-Type: application/json.");
    public static readonly ApiProblem TooManyRequests = new(
        "too-many-requests", 429, "Too many requests from one address; Retry-After says how many seconds to wait.");
    public static readonly ApiProblem CheckRunning = new(
        "check-running", 429, "Somebody has the whole store checked at this moment; Retry-After says when to ask again.");
    public static readonly ApiProblem InternalFault = new(
        "internal-fault", 500, "A fault of this program. The trace id finds it in the log; a command may be sent again with the same key.");
    public static readonly ApiProblem StoreFault = new("store-fault", 500, "The store cannot do that as it stands; the detail says why. An administrator has to look.");
    public static readonly ApiProblem StoreUnavailable = new(
        "store-unavailable", 503, "The store is not available. Send the same request again later; a command with the same key counts once.");
    public static readonly ApiProblem TimeLimit = new(
        "time-limit", 503, "The request took too long and was given up. Send the same again; a command with the same key counts once.");
    public static readonly ApiProblem ReadNotRecorded = new(
        "read-not-recorded", 503, "Who reads is written down first; that failed, so nothing is answered.");

    /// <summary>All of them, by status.</summary>
    public static IReadOnlyList<ApiProblem> All { get; } =
    [
        RequestUnreadable, KeyDiffers, VersionInvalid, FormTokenMissing, KeyMissing, KeyUnknown, KeyExpired, KeyRevoked, RoleForbids, RouteUnknown, NothingSigned, MethodNotAllowed,
        PacketDiffers, BodyTooLong, MediaTypeWrong, TooManyRequests, CheckRunning, InternalFault, StoreFault, StoreUnavailable, TimeLimit, ReadNotRecorded,
    ];

    /// <summary>What a bare status means.</summary>
    public static ApiProblem OfStatus(int status) => status switch
    {
        401 => KeyMissing,
        403 => RoleForbids,
        404 => RouteUnknown,
        405 => MethodNotAllowed,
        413 => BodyTooLong,
        415 => MediaTypeWrong,
        429 => TooManyRequests,
        503 => StoreUnavailable,
        >= 500 => InternalFault,
        _ => RequestUnreadable with { Status = status },
    };

    /// <summary>Seconds as a header writes them, at least one.</summary>
    public static string Seconds(TimeSpan wait) => Math.Max(1, (int)Math.Ceiling(wait.TotalSeconds)).ToString(CultureInfo.InvariantCulture);
}
