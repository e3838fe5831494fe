namespace Contracts.Host.Serving.Api;

/// <summary>Bodies of requests: JSON, and never more of them in memory than may be there.</summary>
internal static class Bodies
{
    /// <summary>The body, or the problem with it.</summary>
    public static async Task<(byte[] Body, ApiProblem? Problem)> ReadAsync(HttpRequest request, ApiSettings settings, CancellationToken stop)
    {
        if (!request.HasJsonContentType()) { return ([], ApiProblems.MediaTypeWrong); }
        if (request.ContentLength > settings.LargestBody) { return ([], ApiProblems.BodyTooLong); }
        using var body = new MemoryStream();
        var room = new byte[8192];
        int read;
        while ((read = await request.Body.ReadAsync(room, stop)) > 0)
        {
            // Who sends no length may still send too much.
            if (body.Length + read > settings.LargestBody) { return ([], ApiProblems.BodyTooLong); }
            body.Write(room.AsSpan(0, read));
        }

        return (body.ToArray(), null);
    }
}
