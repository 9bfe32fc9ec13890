import "../sheet.js";
