using System.Diagnostics;
using Contracts.Host.Counter;
using Contracts.Store;

namespace Contracts.Host.Serving;

/// <summary>Lets the events that a request writes carry its trace id, so that whoever finds one finds the other.</summary>
internal static class RequestTrace
{
    /// <summary>The trace id of the request under way, which a caller may have given in <c>traceparent</c>; 32 hexadecimal digits and nothing else.</summary>
    public static string? Current => Activity.Current is { IdFormat: ActivityIdFormat.W3C } request ? request.TraceId.ToHexString() : null;

    /// <summary>The message that carries a command of this request.</summary>
    public static object MessageFor(CommandRequest request) => CommandHandler.MessageFor(Traced(request, Current));

    /// <summary>The same command with a trace id.</summary>
    public static CommandRequest Traced(CommandRequest request, string? trace) =>
        request with { Command = request.Command with { Origin = request.Command.Origin with { Trace = trace } } };
}
