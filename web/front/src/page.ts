import "./style.css";
import "./exchange";
